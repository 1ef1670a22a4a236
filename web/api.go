package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"dustwright/plant"
	"dustwright/sense"
	"dustwright/unit"
)

// jsonAnswer makes an answer in JSON.
func jsonAnswer(v any) (*answer, error) {
	body, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("the answer can't be written as JSON: %w", err)
	}
	return newAnswer("application/json", append(body, '\n')), nil
}

// apiRoutes is the part of the table that programs use.
func apiRoutes() []route {
	const get, post = http.MethodGet, http.MethodPost
	return []route{
		{method: get, path: "/api/collectors", says: "Every collector, worst standing first", api: &spec{out: []overviewOut{}}, handle: (*Server).apiCollectors},
		{method: post, path: "/api/collectors", says: "A collector file (TOML) to take into the books; by names who", api: &spec{in: "application/toml", out: takenOut{}, query: []string{"by", "id"}}, handle: (*Server).apiEnrol},
		{method: get, path: "/api/collectors/{tag}", says: "One collector with its judgement, tasks and file", api: &spec{out: overviewOut{}}, handle: (*Server).collector},
		{method: get, path: "/api/collectors/{tag}/readings", says: "A channel's readings as an envelope of buckets; from and to in seconds since 1970 or RFC 3339, n buckets at most", api: &spec{out: readingsOut{}, query: []string{"channel", "from", "to", "n"}}, handle: (*Server).apiReadings},
		{method: get, path: "/api/records", says: "Records, oldest first; after is a place in the chain", api: &spec{out: []plant.Record{}, query: []string{"tag", "kind", "q", "after", "limit"}}, handle: (*Server).apiRecords},
		{method: post, path: "/api/records", says: "Records to take; the same id is kept once, so an answer that was lost may be asked for again", api: &spec{in: []plant.Record{}, out: []plant.Record{}}, handle: (*Server).apiAccept},
		{method: get, path: "/api/tasks", says: "What is due, over all collectors, soonest first in each", api: &spec{out: []plant.Task{}}, handle: (*Server).apiTasks},
		{method: get, path: "/api/chain", says: "Whether the evidence chain holds", api: &spec{out: chainOut{}}, handle: (*Server).apiChain},
		{method: get, path: "/api/openapi.json", says: "This description", api: &spec{out: map[string]any{}}, handle: (*Server).apiDocument},
	}
}

// takenOut says what was taken.
type takenOut struct {
	ID  string `json:"id"`
	Tag string `json:"tag"`
}

// readingsOut is a channel's envelope.
type readingsOut struct {
	Tag     string      `json:"tag"`
	Channel string      `json:"channel"`
	Kind    string      `json:"kind"` // of quantity; values are SI
	Buckets []bucketOut `json:"buckets"`
}

// bucketOut is a stretch of readings drawn together.
type bucketOut struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	N    int       `json:"n"`
	Min  float64   `json:"min"`
	Mean float64   `json:"mean"`
	Max  float64   `json:"max"`
}

// chainOut says whether the chain holds.
type chainOut struct {
	Holds bool   `json:"holds"`
	Head  string `json:"head"` // hash of the last record
	Says  string `json:"says"`
}

func (s *Server) apiCollectors(w http.ResponseWriter, r *http.Request) error {
	return s.cached(w, r, func(_ context.Context, v *plant.View) (*answer, error) {
		out := make([]overviewOut, 0, len(v.List))
		for _, o := range v.List {
			out = append(out, overviewJSON(o, false, s.unitsOf(r)))
		}
		return jsonAnswer(out)
	})
}

func (s *Server) apiEnrol(w http.ResponseWriter, r *http.Request) error {
	data, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	by, id := r.URL.Query().Get("by"), r.URL.Query().Get("id")
	if by == "" {
		return wrong("Say with ?by= who stands on record for the collector file.")
	}
	if id == "" {
		id = plant.NewID()
	}
	c, err := s.o.Service.Enrol(r.Context(), data, by, id)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, takenOut{id, c.Tag})
	return nil
}

func (s *Server) apiReadings(w http.ResponseWriter, r *http.Request) error {
	tag, q := r.PathValue("tag"), r.URL.Query()
	v, err := s.o.Service.View(r.Context())
	if err != nil {
		return err
	}
	o, err := v.Of(tag)
	if err != nil {
		return err
	}
	name := q.Get("channel")
	if name == "" {
		name = sense.DP.String()
	}
	ch, ok := sense.ParseChannel(name)
	if !ok {
		return wrong(fmt.Sprintf("There is no channel %q; did you mean %q?", name, unit.Nearest(name, sense.ChannelNames())))
	}
	from, to := o.Last.Add(-24*time.Hour), o.Last.Add(time.Second)
	if err := errors.Join(instant(q, "from", &from), instant(q, "to", &to)); err != nil {
		return err
	}
	n := 500
	if text := q.Get("n"); text != "" {
		if n, err = strconv.Atoi(text); err != nil || n < 1 || n > 5000 {
			return wrong("n is the number of buckets, 1 to 5000.")
		}
	}
	if !to.After(from) {
		return wrong("to must lie after from.")
	}
	list, err := s.o.Archive.Envelope(r.Context(), tag, ch, from, to, n)
	if err != nil {
		return err
	}
	out := readingsOut{Tag: tag, Channel: name, Kind: ch.Kind().String(), Buckets: []bucketOut{}}
	zone := s.o.Service.Zone()
	for _, b := range list {
		out.Buckets = append(out.Buckets, bucketOut{time.Unix(0, b.From).In(zone), time.Unix(0, b.To).In(zone), b.N, b.Min, b.Mean(), b.Max})
	}
	s.json(w, http.StatusOK, out)
	return nil
}

// instant reads a time out of a query; what is not there stays.
func instant(q url.Values, name string, at *time.Time) error {
	text := q.Get(name)
	if text == "" {
		return nil
	}
	if unix, err := strconv.ParseInt(text, 10, 64); err == nil {
		*at = time.Unix(unix, 0)
		return nil
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return wrong(fmt.Sprintf("%s: %q is no time; write 2026-06-16T08:00:00-06:00, with the + of an offset as %%2B, or seconds since 1970.", name, text))
	}
	*at = t
	return nil
}

func (s *Server) apiRecords(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	query := plant.RecordQuery{Collector: q.Get("tag"), Text: q.Get("q"), Limit: 1000}
	if k := q.Get("kind"); k != "" {
		query.Kinds = []plant.Kind{plant.Kind(k)}
	}
	var err error
	if text := q.Get("after"); text != "" {
		if query.After, err = strconv.ParseInt(text, 10, 64); err != nil {
			return wrong("after is a record's place in the chain, such as 120.")
		}
	}
	if text := q.Get("limit"); text != "" {
		if query.Limit, err = strconv.Atoi(text); err != nil || query.Limit < 1 || query.Limit > 10000 {
			return wrong("limit is a number of records, 1 to 10000.")
		}
	}
	list, err := s.o.Archive.Records(r.Context(), query)
	if err != nil {
		return err
	}
	if list == nil {
		list = []plant.Record{}
	}
	s.json(w, http.StatusOK, list)
	return nil
}

// apiAccept takes one record or a list of them.
func (s *Server) apiAccept(w http.ResponseWriter, r *http.Request) error {
	data, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	if !strings.HasPrefix(strings.TrimSpace(string(data)), "[") {
		data = []byte("[" + string(data) + "]")
	}
	var list []plant.Record
	if err := json.Unmarshal(data, &list); err != nil {
		return wrong("The records can't be read as JSON: " + err.Error() + ". One looks like " + recordExample)
	}
	for _, rec := range list {
		if strings.TrimSpace(rec.By) == "" {
			return wrong("A record says by whom it is. One looks like " + recordExample)
		}
	}
	kept, err := s.o.Service.Accept(r.Context(), list...)
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, kept)
	return nil
}

// recordExample is shown to who sends something else.
const recordExample = `{"id":"any text of your own, once","kind":"reading","collector":"DC-1","by":"logger","at":"2026-06-16T08:00:00-06:00","body":{"values":{"dp":622.7}}}`

func (s *Server) apiTasks(w http.ResponseWriter, r *http.Request) error {
	return s.cached(w, r, func(_ context.Context, v *plant.View) (*answer, error) {
		out := []plant.Task{}
		for _, o := range v.List {
			out = append(out, plant.TasksIn(o.Tasks, s.unitsOf(r))...)
		}
		return jsonAnswer(out)
	})
}

func (s *Server) apiChain(w http.ResponseWriter, r *http.Request) error {
	says, head, err := s.chainSays(r.Context())
	if err != nil {
		return err
	}
	s.json(w, http.StatusOK, chainOut{head != "", head, says})
	return nil
}

func (s *Server) apiDocument(w http.ResponseWriter, r *http.Request) error {
	a, err := jsonAnswer(openAPI(apiRoutes()))
	if err != nil {
		return err
	}
	return a.send(w, r, "no-cache")
}
