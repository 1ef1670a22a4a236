// Package store keeps a plant's records in one SQLite file with a folder of blobs beside it: the
// collectors, the evidence chain, readings (recent and hand readings as rows, history as packed
// chunks of some hundred samples with their minimum, maximum and sum), and what was concluded from
// them. Every method that acknowledges says what survives a crash. It knows plant's records and
// none of the other edges.
package store
