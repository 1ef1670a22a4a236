package web

import (
	"fmt"
	"net/http"
	"strings"

	"dustwright/judge"
)

// route is one row of the table of pages.
type route struct {
	method, path string
	says         string // what it is for
	hands        bool   // leads to hands on the machine: it can't stand here without its caution
	caution      string // id in judge's list; the page opens with it
	tick         bool   // the caution has a box to tick that goes on record
	api          *spec  // of the JSON in and out; nil: not part of the API
	handle       func(*Server, http.ResponseWriter, *http.Request) error
}

// checkRoutes refuses a table that would let somebody near the machine uncautioned.
func checkRoutes(list []route) error {
	seen := map[string]bool{}
	for _, rt := range list {
		key := rt.method + " " + rt.path
		switch {
		case seen[key]:
			return fmt.Errorf("web: %s stands twice in the table of routes", key)
		case rt.hands && rt.caution == "":
			return fmt.Errorf("web: %s leads to hands on the machine and has no caution", key)
		case rt.tick && rt.caution == "":
			return fmt.Errorf("web: %s has a box to tick and no caution beside it", key)
		case rt.says == "" || rt.handle == nil:
			return fmt.Errorf("web: %s has no words or no handler", key)
		case strings.HasPrefix(rt.path, "/api/") && rt.api == nil:
			return fmt.Errorf("web: %s is not described", key)
		}
		if rt.caution != "" && judge.Caution(rt.caution).IsZero() {
			return fmt.Errorf("web: %s: the caution %q is empty", key, rt.caution)
		}
		seen[key] = true
	}
	return nil
}

// routes is the table: every page and every part of the API.
func routes() []route {
	const get, post = http.MethodGet, http.MethodPost
	return []route{
		{method: get, path: "/{$}", says: "Every collector, worst standing first", handle: (*Server).today},
		{method: get, path: "/c/{tag}", says: "One collector: standing, causes, reasons, charts", handle: (*Server).collector},
		{method: get, path: "/c/{tag}/chart.svg", says: "A chart over a stretch of time", handle: (*Server).chartSVG},
		{method: get, path: "/c/{tag}/table", says: "A chart as a table", handle: (*Server).chartTable},
		{method: get, path: "/c/{tag}/check", says: "The next check, with its answer buttons", hands: true, caution: "live", handle: (*Server).check},
		{method: post, path: "/c/{tag}/check", says: "What a check found", hands: true, caution: "live", handle: (*Server).answerCheck},
		{method: get, path: "/c/{tag}/valves", says: "Record or upload a cleaning cycle", hands: true, caution: "live", handle: (*Server).valves},
		{method: post, path: "/c/{tag}/valves", says: "A recording or a trace", hands: true, caution: "live", handle: (*Server).listenValves},
		{method: get, path: "/c/{tag}/valves/{id}", says: "What a recording or a trace showed, valve by valve", hands: true, caution: "live", handle: (*Server).valveCheck},
		{method: get, path: "/c/{tag}/bench", says: "The bench check of pilot and diaphragm", hands: true, caution: "compressed-air", tick: true, handle: (*Server).bench},
		{method: post, path: "/c/{tag}/bench", says: "What the bench check found", hands: true, caution: "compressed-air", tick: true, handle: (*Server).benchFound},
		{method: post, path: "/c/{tag}/repair", says: "Work on a valve", hands: true, caution: "compressed-air", tick: true, handle: (*Server).repair},
		{method: get, path: "/c/{tag}/traverse", says: "The points of a traverse, and their readings", hands: true, caution: "traverse", tick: true, handle: (*Server).traverse},
		{method: post, path: "/c/{tag}/traverse", says: "Readings of a traverse", hands: true, caution: "traverse", handle: (*Server).traversed},
		{method: get, path: "/c/{tag}/hoods", says: "What each hood should show, and readings to enter", hands: true, caution: "live", tick: true, handle: (*Server).hoods},
		{method: post, path: "/c/{tag}/hoods", says: "Static pressures read behind the hoods", hands: true, caution: "live", handle: (*Server).readHoods},
		{method: get, path: "/c/{tag}/trim", says: "Where the damper goes", hands: true, caution: "live", tick: true, handle: (*Server).trim},
		{method: post, path: "/c/{tag}/trim", says: "Where the damper went", hands: true, caution: "live", tick: true, handle: (*Server).moveDamper},
		{method: get, path: "/c/{tag}/air", says: "Whether the compressed air is good enough", hands: true, caution: "compressed-air", tick: true, handle: (*Server).air},
		{method: post, path: "/c/{tag}/air", says: "What was measured of the compressed air", hands: true, caution: "compressed-air", handle: (*Server).airMeasured},
		{method: get, path: "/c/{tag}/filters", says: "The change of filters, row by row", hands: true, caution: "open-collector", tick: true, handle: (*Server).filters},
		{method: post, path: "/c/{tag}/filters", says: "A change of filters", hands: true, caution: "open-collector", tick: true, handle: (*Server).changeFilters},
		{method: get, path: "/c/{tag}/bin", says: "When the bin is due", hands: true, caution: "bin", tick: true, handle: (*Server).bin},
		{method: post, path: "/c/{tag}/bin", says: "An emptied bin", hands: true, caution: "bin", tick: true, handle: (*Server).emptyBin},
		{method: get, path: "/c/{tag}/inspect", says: "The six-monthly inspection", hands: true, caution: "open-collector", tick: true, handle: (*Server).inspect},
		{method: post, path: "/c/{tag}/inspect", says: "An inspection", hands: true, caution: "open-collector", tick: true, handle: (*Server).inspected},
		{method: get, path: "/c/{tag}/commission", says: "The steps of the guided start-up", hands: true, caution: "open-collector", handle: (*Server).commission},
		{method: get, path: "/c/{tag}/commission/{step}", says: "One step of the guided start-up", hands: true, caution: "open-collector", handle: (*Server).step},
		{method: post, path: "/c/{tag}/commission/{step}", says: "A step done", hands: true, caution: "open-collector", handle: (*Server).stepTaken},
		{method: get, path: "/c/{tag}/rehearse", says: "Two futures side by side", handle: (*Server).rehearse},
		{method: get, path: "/c/{tag}/file", says: "The collector file", handle: (*Server).file},
		{method: post, path: "/c/{tag}/note", says: "A note", handle: (*Server).note},
		{method: get, path: "/c/{tag}/paper/{name}", says: "Something to print of a collector", handle: (*Server).paper},
		{method: get, path: "/paper/{name}", says: "Something to print or to take away of the whole plant", handle: (*Server).paper},
		{method: get, path: "/records", says: "Records, and whether the evidence chain holds", handle: (*Server).records},
		{method: get, path: "/blob/{name}", says: "A photo, recording or trace", handle: (*Server).blob},
		{method: get, path: "/add", says: "The form that adds a collector", handle: (*Server).add},
		{method: post, path: "/add", says: "A collector file or the form", handle: (*Server).added},
		{method: get, path: "/units", says: "The choice of units", handle: (*Server).units},
		{method: get, path: "/c/{tag}/done", says: "How a collector stands right after an entry", handle: (*Server).donePage},
		{method: get, path: "/round", says: "The stops of the round, in walking order", hands: true, caution: "live", tick: true, handle: (*Server).round},
		{method: post, path: "/round", says: "The start of a round", hands: true, caution: "live", tick: true, handle: (*Server).startRound},
		{method: get, path: "/c/{tag}/round", says: "One stop: readings to enter", hands: true, caution: "live", handle: (*Server).roundStop},
		{method: post, path: "/c/{tag}/round", says: "Readings of a stop", hands: true, caution: "live", handle: (*Server).enterReading},
		{method: get, path: "/phones", says: "How a phone comes to trust this server", handle: (*Server).phones},
		{method: get, path: "/phones/authority.crt", says: "The certificate authority for phones to take", handle: (*Server).authority},
		{method: get, path: "/assets/{name}", says: "Style, script and pictures, under their checksums", handle: (*Server).asset},
		{method: get, path: "/worker.js", says: "What keeps pages on a phone without signal", handle: (*Server).worker},
		{method: get, path: "/manifest.webmanifest", says: "What a phone needs for its home screen", handle: (*Server).manifest},
	}
}

// spec describes a part of the API.
type spec struct {
	in, out any // values of the types that go in and come out, for the document
	query   []string
}
