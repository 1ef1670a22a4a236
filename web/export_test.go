package web

// RouteAddresses lists every method and path of the table, for tests that ask for all of them.
func RouteAddresses() (out [][2]string) {
	for _, rt := range append(routes(), apiRoutes()...) {
		out = append(out, [2]string{rt.method, rt.path})
	}
	return out
}
