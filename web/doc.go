// Package web shows the plant: pages for the person at the machine and the same content as JSON. Pages
// are made on the server and work without a script; a small script of our own adds the number pad, the
// charts' zoom, and the outbox that keeps entries on a phone without signal and sends each exactly
// once. Rules of records are package plant's; what prints, reads files or stores is handed in. Every
// page is one file with its template under pages/; routes.go is the table of all of them.
//
// # Where to look
//
//   - server.go, routes.go, options.go: the server and the table of everything it answers. doors.go, phones.go: HTTPS beside plain HTTP, and how a
//     phone comes to trust it (package trust makes the certificates).
//   - render.go, cache.go, assets.go: a page on its way out. words.go: words of pages. problem.go: what went wrong, in a sentence. entry.go,
//     refused.go: a form on its way in, and back where it was refused.
//   - today.go, collector.go, records.go, add.go: the plant, one collector, what is on record, a new collector.
//   - round.go, check.go, valves.go, traverse.go, hoods.go, air.go, commission.go, rehearsal.go: one job each. work.go: trim, change of filters, bin,
//     inspection.
//   - chart.go, charts.go, course.go, manometer.go: drawings. api.go, openapi.go: the same for programs.
package web
