package plant

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"
)

// Record is one entry of the evidence chain: something read, done or found on a collector. A record
// is never changed; a correction is a new record that points at the old one.
type Record struct {
	Seq       int64           `json:"seq"`                // place in the chain, 1 is the first
	ID        string          `json:"id"`                 // given by whoever made the record; the same ID is kept once
	Kind      Kind            `json:"kind"`               //
	Collector string          `json:"collector"`          // tag; "" where it concerns the plant
	At        time.Time       `json:"at"`                 // when it happened
	Entered   time.Time       `json:"entered"`            // when it was taken into the chain
	By        string          `json:"by"`                 // who
	Body      json.RawMessage `json:"body"`               // one of the body types, by Kind
	Corrects  string          `json:"corrects,omitempty"` // ID of the record this one puts right
	Prev      string          `json:"prev"`               // hash of the record before, "" for the first
	Hash      string          `json:"hash"`               // of this record
}

// Seal places a record behind the one before it (nil for the first): it sets Seq, Prev and Hash.
// The body is brought to compact JSON first, so that the hash doesn't hang on white space.
func (r *Record) Seal(before *Record) error {
	r.Seq, r.Prev = 1, ""
	if before != nil {
		r.Seq, r.Prev = before.Seq+1, before.Hash
	}
	var body bytes.Buffer
	if err := json.Compact(&body, r.Body); err != nil {
		return fmt.Errorf("record %s: its body is not JSON: %w", r.ID, err)
	}
	r.Body = body.Bytes()
	r.At, r.Entered = r.At.Round(time.Millisecond), r.Entered.UTC().Round(time.Millisecond)
	r.Hash = r.digest()
	return nil
}

// digest is the SHA-256 of every field but Hash, each preceded by its length, so that no two
// different records give the same bytes.
func (r *Record) digest() string {
	h := sha256.New()
	for _, field := range []string{
		r.Prev, fmt.Sprint(r.Seq), r.ID, string(r.Kind), r.Collector,
		r.At.Format(time.RFC3339Nano), r.Entered.UTC().Format(time.RFC3339Nano),
		r.By, r.Corrects, string(r.Body),
	} {
		fmt.Fprintf(h, "%d:%s", len(field), field) // a hash never fails to write
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Broken says where an evidence chain does not hold.
type Broken struct {
	Seq int64
	ID  string
	Why string
}

// Error returns the sentence.
func (b *Broken) Error() string {
	return fmt.Sprintf("the evidence chain does not hold at record %d (%s): %s", b.Seq, b.ID, b.Why)
}

// Verifier checks a chain record by record, from the first. The zero value is ready.
type Verifier struct {
	last *Record
}

// Next takes the next record of the chain and returns *Broken where it does not follow from the one
// before or is not what was sealed.
func (v *Verifier) Next(r Record) error {
	seq, prev := int64(1), ""
	if v.last != nil {
		seq, prev = v.last.Seq+1, v.last.Hash
	}
	switch {
	case r.Seq != seq:
		return &Broken{r.Seq, r.ID, fmt.Sprintf("record %d is missing before it", seq)}
	case r.Prev != prev:
		return &Broken{r.Seq, r.ID, "it does not carry the hash of the record before it"}
	case r.Hash != r.digest():
		return &Broken{r.Seq, r.ID, "its content is not what was sealed: it was changed afterwards"}
	}
	v.last = &r
	return nil
}

// Head returns the number of records verified and the hash of the last, which a person can write
// down: the same hash later proves that nothing before it was changed.
func (v *Verifier) Head() (n int64, hash string) {
	if v.last == nil {
		return 0, ""
	}
	return v.last.Seq, v.last.Hash
}
