// Package duct is the way of the air from the hoods to the collector: friction, fittings, hoods,
// branch networks, the velocity that keeps dust in flight, and the measurement of the flow by a
// traverse with its uncertainty. Density and viscosity come in as arguments, so the package knows
// nothing of moist air; fans, dampers and filters are elsewhere. Main sources: the Colebrook and
// Darcy-Weisbach equations, SMACNA and ASHRAE fitting tables, 40 CFR 60 App. A-1 Methods 1 and 2,
// ISO 5802 and ISO 3966 for traverse points, and JCGM 100 for uncertainty; what could not be read in a
// document is marked "from memory" where it stands.
package duct

import "errors"

// Errors of the package, wrapped with the numbers that explain them; compare with errors.Is.
var (
	// ErrSection: a duct has neither a diameter nor a width and height, or has both.
	ErrSection = errors.New("a duct needs either a diameter or a width and a height, all above zero")
	// ErrUnknownFitting: no table of that name.
	ErrUnknownFitting = errors.New("no such fitting in the tables")
	// ErrOutsideTable: the argument lies outside the published table.
	ErrOutsideTable = errors.New("outside the published table")
)
