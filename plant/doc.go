// Package plant holds what is kept of a plant: sites and collectors, readings, the work done on
// them, the tasks that fall due, and the evidence chain that proves it; and it composes the
// judgement of a collector from features, causes, life and trim. It says which rules a record obeys
// and which interfaces it needs; where records live, where readings come from and how they are
// shown is the business of the packages at the edge.
package plant
