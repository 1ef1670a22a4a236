package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"dustwright/plant"
	"dustwright/unit"
)

// recordsPage lists records and says whether the evidence chain holds.
type recordsPage struct {
	List            []recordLine
	Chain           string
	Head            string
	Broken          bool
	Tag, Text, Kind string
	Tags            []string
	Kinds           []plant.Kind
	Papers          []Paper
	Older           string // address of those before
}

// recordLine is one record.
type recordLine struct {
	ID, Kind, Tag, By, Text string
	When                    template.HTML
	Photo                   string
}

// recordsShown is how many records a page lists.
const recordsShown = 100

// records lists the newest records that fit what was asked for.
func (s *Server) records(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	query := plant.RecordQuery{Collector: q.Get("tag"), Text: q.Get("q"), Limit: recordsShown}
	if k := q.Get("kind"); k != "" {
		query.Kinds = []plant.Kind{plant.Kind(k)}
	}
	list, err := s.o.Archive.Records(r.Context(), query)
	if err != nil {
		return err
	}
	v, err := s.o.Service.View(r.Context())
	if err != nil {
		return err
	}
	p := s.page(r, "Records")
	p.Tag = ""
	body := recordsPage{Tag: query.Collector, Text: query.Text, Kind: q.Get("kind"), Kinds: plant.Kinds()}
	for i := len(list) - 1; i >= 0; i-- {
		body.List = append(body.List, lineOfRecord(list[i], p))
	}
	for _, o := range v.Walk {
		body.Tags = append(body.Tags, o.Machine.Tag)
	}
	for _, paper := range s.o.Papers {
		if paper.Whole {
			body.Papers = append(body.Papers, paper)
		}
	}
	if body.Chain, body.Head, err = s.chainSays(r.Context()); err != nil {
		return err
	}
	body.Broken = body.Head == ""
	p.Body = body
	return s.render(w, http.StatusOK, "records", p)
}

// chainSays verifies the whole chain and says what came of it; head is "" where it does not hold.
func (s *Server) chainSays(ctx context.Context) (says, head string, err error) {
	n, head, err := s.o.Archive.Verify(ctx)
	var broken *plant.Broken
	switch {
	case errors.As(err, &broken):
		return sentence(broken.Error()), "", nil
	case err != nil:
		return "", "", err
	case n == 0:
		return "No record yet.", "empty", nil
	}
	return fmt.Sprintf("The evidence chain holds: %s verified just now. Write the last one's hash down, and it proves later that nothing before it was changed.", plural(int(n), "record", "records")), head, nil
}

func lineOfRecord(r plant.Record, p *page) recordLine {
	line := recordLine{ID: r.ID, Kind: dashed(string(r.Kind)), Tag: r.Collector, By: r.By, When: stamp(p.Now, r.At), Text: recordText(r, p.Units)}
	var photo struct{ Photo string }
	if json.Unmarshal(r.Body, &photo) == nil { // a record without a photo has none to show
		line.Photo = photo.Photo
	}
	return line
}

// recordText says in a line what a record holds.
func recordText(r plant.Record, sys unit.System) string {
	body, err := plant.Open(r)
	if err != nil {
		return err.Error()
	}
	switch b := body.(type) {
	case *plant.Reading:
		return readingText(b, sys)
	case *plant.FilterChange:
		return plural(len(b.Rows), "row", "rows") + " with new filters. " + sentence(b.Reason)
	case *plant.DamperMove:
		text := "damper to " + b.To.In(sys)
		if b.From >= 0 {
			text = "damper from " + b.From.In(sys) + " to " + b.To.In(sys)
		}
		if b.Flow > 0 {
			text += ", then " + b.Flow.In(sys)
		}
		return sentence(text)
	case *plant.SetPointChange:
		var keys []string
		for _, k := range slices.Sorted(maps.Keys(b.Keys)) {
			keys = append(keys, k+" to "+b.Keys[k])
		}
		return sentence("set " + strings.Join(keys, ", ")) // a key keeps its small letter: that is how the file has it
	case *plant.ValveRepair:
		return fmt.Sprintf("Valve %d, %s. %s", b.Valve, b.Part, sentence(b.Note))
	case *plant.ValveCheck:
		return checkText(b)
	case *plant.BinEmptied:
		if b.Mass > 0 {
			return sentence(b.Mass.In(sys))
		}
		return ""
	case *plant.Inspection:
		return itemsText(b.Items)
	case *plant.Commissioning:
		if b.Accepted {
			return "Step " + b.Step + " accepted."
		}
		return "Step " + b.Step + " not accepted. " + sentence(b.Says(sys))
	case *plant.Arrival:
		return itemsText(b.Items) + " " + sentence(b.Damage)
	case *plant.Traverse:
		return "Airflow " + b.Flow.In(sys) + "."
	case *plant.AirCheck:
		return airText(b, sys)
	case *plant.HoodReading:
		return fmt.Sprintf("%s read. %s", plural(len(b.Hoods), "hood", "hoods"), b.Says.In(sys))
	case *plant.CheckAnswer:
		found := map[bool]string{true: "found", false: "not found"}[b.Yes]
		return sentence(b.Check + ": " + found)
	case *plant.Caution:
		return "Caution read before " + b.For + "."
	case *plant.CollectorFile:
		return "Taken in."
	case *plant.Note:
		return sentence(b.Text)
	}
	return string(r.Kind)
}

func readingText(b *plant.Reading, sys unit.System) string {
	var parts []string
	for _, ch := range channelOrder() {
		if v, ok := b.Values[ch.String()]; ok {
			name := strings.NewReplacer("afterfilter_dp", "after-filter dP", "dp", "dP", "_", " ").Replace(ch.String())
			parts = append(parts, name+" "+unit.Print(ch.Kind(), v, sys))
		}
	}
	text := strings.Join(parts, ", ")
	if text != "" {
		text = strings.TrimSuffix(text, ".") + ". " // "in. w.g." has its own
	}
	return text + sentence(b.Note)
}

func checkText(b *plant.ValveCheck) string {
	var res valveResult
	if json.Unmarshal(b.Result, &res) != nil || len(res.Valves) == 0 { // a check by hand has another form
		var hand struct {
			Valve int    `json:"valve"`
			Why   string `json:"why"`
		}
		if json.Unmarshal(b.Result, &hand) == nil && hand.Valve > 0 {
			return fmt.Sprintf("Bench check of valve %d: %s", hand.Valve, hand.Why)
		}
		return "Valve check by " + b.By + "."
	}
	var bad []int
	for _, v := range res.Valves {
		if v.State != "ok" && v.State != "unsure" {
			bad = append(bad, v.Number)
		}
	}
	return "By " + b.By + ". " + badSays(bad)
}

func itemsText(items []plant.Item) string {
	var bad []string
	n := 0
	for _, i := range items {
		if i.Result == "not-ok" {
			bad = append(bad, i.What)
		}
		if i.Result != "not-done" {
			n++
		}
	}
	text := plural(n, "item", "items") + " looked at"
	if len(bad) > 0 {
		text += "; not in order: " + strings.Join(bad, ", ")
	}
	return sentence(text)
}

// blob serves a photo, recording or trace.
func (s *Server) blob(w http.ResponseWriter, r *http.Request) (err error) {
	b, err := s.o.Blobs.Blob(r.PathValue("name"))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, b.Close()) }()
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	head := make([]byte, 512)
	n, err := io.ReadFull(b, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return err
	}
	kind := http.DetectContentType(head[:n])
	if !strings.HasPrefix(kind, "image/") && !strings.HasPrefix(kind, "audio/") {
		kind = "application/octet-stream" // nothing that a browser would run
	}
	w.Header().Set("Content-Type", kind)
	if _, err := w.Write(head[:n]); err != nil {
		return gone(err)
	}
	_, err = io.Copy(w, b)
	return gone(err)
}

// monthOf is when a collector was last read: its month is the one to print. Now where it never was.
func (s *Server) monthOf(ctx context.Context, tag string) time.Time {
	if v, err := s.o.Service.View(ctx); err == nil { // without a view there is nothing to print, and that is told elsewhere
		if o, err := v.Of(tag); err == nil && !o.Last.IsZero() {
			return o.Last
		}
	}
	return s.o.Service.Now()
}

// paper prints something of a collector or the whole plant.
func (s *Server) paper(w http.ResponseWriter, r *http.Request) error {
	tag := r.PathValue("tag")
	for _, paper := range s.o.Papers {
		if paper.Name != r.PathValue("name") || paper.Whole != (tag == "") {
			continue
		}
		want := PaperRequest{Tag: tag, Paper: r.URL.Query().Get("paper"), Units: s.unitsOf(r), ID: r.URL.Query().Get("id"), Month: s.monthOf(r.Context(), tag), Base: s.base(r)}
		if text := r.URL.Query().Get("month"); text != "" {
			at, err := parseMonth(text, s.o.Service.Zone())
			if err != nil {
				return err
			}
			want.Month = at
		}
		var b strings.Builder
		if err := paper.Write(r.Context(), &b, want); err != nil {
			return err
		}
		w.Header().Set("Content-Disposition", "inline; filename="+strconv.Quote(strings.Trim(url.PathEscape(tag)+"-"+paper.Name, "-")))
		return newAnswer(paper.Type, []byte(b.String())).send(w, r, "no-cache")
	}
	return &problem{status: http.StatusNotFound, says: "There is no such paper here."}
}
