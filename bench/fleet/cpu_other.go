//go:build !unix

package main

import "time"

// processorTime is not known here.
func processorTime() time.Duration { return 0 }
