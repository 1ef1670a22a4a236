// Package dustwright is the root of the module and holds no program: the binary is cmd/dustwright, the packages are
// described in ARCHITECTURE.md. Its tests read the source of all packages and check what that page promises: which
// package may import which and why (arrows_test.go), and that physics functions state units, source, errors
// and what NaN does (doc_test.go).
package dustwright
