// Package solve is the mathematics the physics needs and nothing of the trade: bracketed roots, monotone
// interpolation, differential equations with events, robust statistics and least squares. All functions are functions of
// their arguments, keep no state and are safe for concurrent use. Numbers carry no units here; that is why the
// signatures are plain float64.
package solve

import "errors"

// The ways in which there is no answer. Errors returned wrap one of them and add the numbers.
var (
	// ErrNoBracket: the function has the same sign at both ends.
	ErrNoBracket = errors.New("no sign change between the ends")
	// ErrNotFinite: a number that went in, or that a given function returned, is NaN or infinite.
	ErrNotFinite = errors.New("a number is not finite")
	// ErrNotConverged: the answer was not reached within the allowed steps.
	ErrNotConverged = errors.New("not converged")
	// ErrTooFew: fewer points than the method needs.
	ErrTooFew = errors.New("too few points")
	// ErrNotRising: abscissae that must rise strictly don't.
	ErrNotRising = errors.New("the abscissae do not rise strictly")
	// ErrSingular: the data do not determine all parameters.
	ErrSingular = errors.New("the data do not determine all parameters")
)
