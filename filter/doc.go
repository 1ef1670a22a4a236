// Package filter is the filter cartridges of a collector as rows in parallel under one differential
// pressure: clean medium, residual drag that seasons and creeps, and a cake that grows with the dust
// brought and is partly thrown off by a pulse. Between pulses the rows have an exact solution whatever
// the airflow does; it is used, not a time step. It also holds the after-filter and the published tables
// for fabric filters. It leaves out pleat geometry, flow within a row, temperature and the chemistry of dust.
// Main sources: the drag and pulse-jet equations of the US EPA Air Pollution Control Cost Manual
// (EPA/452/B-02-001, Sec. 6 Ch. 1) and Wang et al., "Fabric Filtration", 2004; the cleaning law of Leith
// and Ellenbecker, 1980. What no document gives is marked beside the value.
package filter
