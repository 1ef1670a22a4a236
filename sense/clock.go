package sense

import "time"

// unixTime returns the time of a unix second, in UTC.
func unixTime(s int64) time.Time { return time.Unix(s, 0).UTC() }

// zone is the log's own clock as a fixed offset; daylight saving is in the readings' times already.
func (h *History) zone() *time.Location {
	if h.Offset == 0 {
		return time.UTC
	}
	return time.FixedZone("", int(h.Offset))
}
