// Package web shows the plant: pages for the person at the machine and the same content as JSON. Pages
// are made on the server and work without a script; a small script of our own adds the number pad, the
// charts' zoom, and the outbox that keeps entries on a phone without signal and sends each exactly
// once. Rules of records are package plant's; what prints, reads files or stores is handed in. Every
// page is one file with its template under pages/; routes.go is the table of all of them.
package web
