package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// fault is what is wrong with one field of a form.
type fault struct{ field, says string }

// in says of a problem in which field of a form it lies; nil stays nil.
func in(field string, err error) error {
	if err == nil {
		return nil
	}
	return &problem{http.StatusUnprocessableEntity, err.Error(), []fault{{field, err.Error()}}}
}

// again answers a form that was refused with the page that it stands on, as it was filled in: nothing that was typed is lost, with or
// without a script. The sentence stands at the head, and beside the field at fault again. Files can't be filled in by a page; it says
// so. It reports false where there is no such page.
func (s *Server) again(w http.ResponseWriter, r *http.Request, p *problem) bool {
	if r.Method != http.MethodPost || len(r.Form) == 0 {
		return false
	}
	page := s.pageOf(r)
	if page == nil {
		return false
	}
	page, ok := refill(page, filled{http.MethodPost, r.URL.Path, r.Form, files(r), sentence(p.says), p.faults})
	if !ok {
		return false
	}
	if err := sendFilled(w, p.status, page); err != nil {
		s.log.Warn("a refused form could not be sent back", "path", r.URL.Path, "error", err)
	}
	return true
}

// sendFilled sends a page that holds what a reader typed: nobody keeps it for another.
func sendFilled(w http.ResponseWriter, status int, page []byte) error {
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, err := w.Write(page)
	return gone(err)
}

// renderFilled is render for a page whose form is shown as it was sent.
func (s *Server) renderFilled(w http.ResponseWriter, status int, name string, p *page, f filled) error {
	plain, err := s.make(name, p)
	if err != nil {
		return err
	}
	if page, ok := refill(plain, f); ok {
		plain = page
	}
	return sendFilled(w, status, plain)
}

// pageOf makes the page on which a form was filled in anew: where it said it stands, or else that of its own address; nil where there
// is none.
func (s *Server) pageOf(r *http.Request) []byte {
	for _, at := range [...]string{r.FormValue("back"), r.URL.Path} {
		u, err := url.ParseRequestURI(at)
		if err != nil || u.IsAbs() || u.Host != "" || strings.HasPrefix(u.Path, "/api/") {
			continue
		}
		ask, err := http.NewRequestWithContext(r.Context(), http.MethodGet, at, nil)
		if err != nil {
			continue
		}
		ask.Host = r.Host
		ask.Header["Cookie"] = r.Header["Cookie"]
		got := &memory{header: http.Header{}}
		s.plain.ServeHTTP(got, ask)
		if got.status == http.StatusOK && strings.HasPrefix(got.header.Get("Content-Type"), "text/html") {
			return got.body.Bytes()
		}
	}
	return nil
}

// memory is an answer kept in memory.
type memory struct {
	header http.Header
	status int
	body   bytes.Buffer
}

// Header returns the answer's header.
func (m *memory) Header() http.Header { return m.header }

// WriteHeader keeps the first status.
func (m *memory) WriteHeader(status int) {
	if m.status == 0 {
		m.status = status
	}
}

// Write keeps what is written; it never fails.
func (m *memory) Write(b []byte) (int, error) {
	m.WriteHeader(http.StatusOK)
	return m.body.Write(b)
}

// files are the names of the files that came with a form, by field.
func files(r *http.Request) map[string]string {
	out := map[string]string{}
	if r.MultipartForm != nil {
		for field, list := range r.MultipartForm.File {
			if len(list) > 0 && list[0].Filename != "" {
				out[field] = list[0].Filename
			}
		}
	}
	return out
}

// filled is a form as it was sent, and what is wrong with it.
type filled struct {
	method, action string
	values         url.Values
	files          map[string]string
	says           string // "" where nothing is wrong
	faults         []fault
}

// refill fills a page's form in as it was sent. It reports false where the page has no such form, or can't be read.
func refill(page []byte, f filled) ([]byte, bool) {
	doc, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		return nil, false
	}
	form := f.find(doc)
	if form == nil {
		return nil, false
	}
	names := map[string]int{}
	for n := range fieldsIn(form) {
		f.fill(n, names)
	}
	for i, wrong := range f.faults {
		f.mark(form, i, wrong)
	}
	f.head(doc)
	var b bytes.Buffer
	if err := html.Render(&b, doc); err != nil {
		return nil, false
	}
	return b.Bytes(), true
}

// find returns the form of the method and address that has most of the names that were sent.
func (f *filled) find(doc *html.Node) (best *html.Node) {
	most := 0
	for n := range doc.Descendants() {
		if n.DataAtom != atom.Form || !strings.EqualFold(attr(n, "method"), f.method) {
			continue
		}
		if u, err := url.Parse(attr(n, "action")); err != nil || u.Path != f.action && u.Path != "" {
			continue
		}
		known := 0
		for field := range fieldsIn(n) {
			_, file := f.files[attr(field, "name")]
			if f.values.Has(attr(field, "name")) || file {
				known++
			}
		}
		if known > most {
			best, most = n, known
		}
	}
	return best
}

// fieldsIn yields the fields of a form that have a name.
func fieldsIn(form *html.Node) func(func(*html.Node) bool) {
	return func(yield func(*html.Node) bool) {
		for n := range form.Descendants() {
			field := n.DataAtom == atom.Input || n.DataAtom == atom.Textarea || n.DataAtom == atom.Select
			if field && attr(n, "name") != "" && !yield(n) {
				return
			}
		}
	}
}

// fill puts what was sent into one field; names counts the fields of each name that came before.
func (f *filled) fill(n *html.Node, names map[string]int) {
	name, kind := attr(n, "name"), attr(n, "type")
	sent := f.values[name]
	switch {
	case name == "back":
	case n.DataAtom == atom.Select:
		for o := range n.Descendants() {
			if o.DataAtom == atom.Option && len(sent) > 0 {
				setFlag(o, "selected", valueOf(o) == sent[0])
			}
		}
	case kind == "file":
		if was := f.files[name]; was != "" {
			note(n, "again-"+name, "Choose the file "+was+" again: a page can't do that for you.")
		}
	case kind == "checkbox" || kind == "radio":
		setFlag(n, "checked", slices.Contains(sent, valueOf(n)))
	case names[name] < len(sent):
		text := sent[names[name]]
		names[name]++
		if n.DataAtom == atom.Textarea {
			for n.FirstChild != nil {
				n.RemoveChild(n.FirstChild)
			}
			n.AppendChild(&html.Node{Type: html.TextNode, Data: text})
		} else {
			setAttr(n, "value", text)
		}
		if kind != "hidden" && text != "" {
			unfold(n)
		}
	}
}

// mark sets a field at fault apart and describes it.
func (f *filled) mark(form *html.Node, i int, wrong fault) {
	for n := range fieldsIn(form) {
		if attr(n, "name") == wrong.field && attr(n, "type") != "hidden" {
			setAttr(n, "aria-invalid", "true")
			note(n, fmt.Sprintf("fault-%d", i+1), sentence(wrong.says))
			unfold(n)
			return
		}
	}
}

// head puts the sentence at the head of the page, after the caution where there is one, with the way to the field.
func (f *filled) head(doc *html.Node) {
	if f.says == "" {
		return
	}
	for n := range doc.Descendants() {
		if n.DataAtom == atom.Title && n.FirstChild != nil && n.FirstChild.Type == html.TextNode {
			n.FirstChild.Data = "Not taken: " + n.FirstChild.Data
		}
		if n.DataAtom != atom.Main {
			continue
		}
		box := element(atom.Div, f.says+" ")
		setAttr(box, "class", "question")
		setAttr(box, "role", "alert")
		for i := range f.faults {
			link := element(atom.A, "Show me where")
			if i > 0 || len(f.faults) > 1 {
				link = element(atom.A, fmt.Sprintf("Show me where (%d)", i+1))
			}
			setAttr(link, "href", fmt.Sprintf("#fault-%d", i+1))
			box.AppendChild(link)
			box.AppendChild(&html.Node{Type: html.TextNode, Data: " "})
		}
		n.InsertBefore(box, afterCaution(n))
		return
	}
}

// afterCaution is where a page's own words begin: what leads to hands on the machine opens with its caution.
func afterCaution(main *html.Node) *html.Node {
	for n := range main.ChildNodes() {
		if n.DataAtom == atom.Section && attr(n, "class") == "caution" {
			return n.NextSibling
		}
	}
	return main.FirstChild
}

// note writes a sentence beside a field and says that it describes it.
func note(field *html.Node, id, says string) {
	setAttr(field, "aria-describedby", strings.TrimSpace(attr(field, "aria-describedby")+" "+id))
	beside := field
	for beside.Parent != nil && beside.Parent.DataAtom == atom.Div && attr(beside.Parent, "class") == "value" {
		beside = beside.Parent // the unit stands there
	}
	if p := field.Parent; p != nil && p.DataAtom == atom.Label && attr(p, "class") != "" {
		beside = p // a box to tick, beside its words
	}
	span := element(atom.Span, says)
	setAttr(span, "class", "fault")
	setAttr(span, "id", id)
	beside.Parent.InsertBefore(span, beside.NextSibling)
}

// unfold opens what a field is folded away in.
func unfold(n *html.Node) {
	for p := n.Parent; p != nil; p = p.Parent {
		if p.DataAtom == atom.Details {
			setFlag(p, "open", true)
		}
	}
}

func element(tag atom.Atom, text string) *html.Node {
	n := &html.Node{Type: html.ElementNode, DataAtom: tag, Data: tag.String()}
	n.AppendChild(&html.Node{Type: html.TextNode, Data: text})
	return n
}

// attr returns an attribute, "" where there is none.
func attr(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name && a.Namespace == "" {
			return a.Val
		}
	}
	return ""
}

func setAttr(n *html.Node, name, value string) {
	setFlag(n, name, false)
	n.Attr = append(n.Attr, html.Attribute{Key: name, Val: value})
}

// setFlag sets an attribute that has no value, or takes it away.
func setFlag(n *html.Node, name string, on bool) {
	n.Attr = slices.DeleteFunc(n.Attr, func(a html.Attribute) bool { return a.Key == name && a.Namespace == "" })
	if on {
		n.Attr = append(n.Attr, html.Attribute{Key: name})
	}
}

// valueOf is what a box or an option sends: its value, or else "on" or its text.
func valueOf(n *html.Node) string {
	for _, a := range n.Attr {
		if a.Key == "value" {
			return a.Val
		}
	}
	if n.DataAtom != atom.Option {
		return "on"
	}
	var b strings.Builder
	for t := range n.Descendants() {
		if t.Type == html.TextNode {
			b.WriteString(t.Data)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
