package plant

import (
	"errors"
	"time"

	"dustwright/sense"
)

// Errors of what keeps the records.
var (
	ErrNoCollector = errors.New("there is no collector")
	ErrNoBlob      = errors.New("there is no such photo, recording or trace")
	ErrNoRecord    = errors.New("there is no record of that kind yet")
)

// Machine is a collector as it stands in the books.
type Machine struct {
	Tag     string    `json:"tag"`
	TOML    string    `json:"toml"` // its collector file, whole
	Walk    int       `json:"walk"` // place in the round
	Created time.Time `json:"created"`
}

// RecordQuery says which records are wanted; the zero value wants all.
type RecordQuery struct {
	Collector string
	Kinds     []Kind
	Since     time.Time // happened at or after
	After     int64     // with a place in the chain above
	Text      string    // in the body, the tag or the name of whoever made it
	Limit     int       // the newest so many; 0 for all
}

// Conclusion is what was worked out of a collector's readings and kept, so that new readings need not
// read history again.
type Conclusion struct {
	UpTo      int64  // unix ns of the last reading in History
	History   []byte // sense.History, gob
	At        time.Time
	Judgement []byte // Judgement, JSON
}

// Extent says where the readings of a channel begin and end.
type Extent struct {
	Channel     sense.Channel
	First, Last int64 // unix ns
}

// Bucket is a stretch of a channel drawn together for a chart.
type Bucket struct {
	From, To int64 // unix ns of the first and last reading in it
	N        int
	Min, Max float64
	Sum      float64
}

// Mean returns the mean of the readings in the bucket.
func (b Bucket) Mean() float64 { return b.Sum / float64(b.N) }
