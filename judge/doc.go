// Package judge says what is the matter with one collector: a probability for every cause of
// trouble, the standing that follows, the reasons in sentences with numbers, and the next check
// worth most per minute of a person's work. It reads features of package sense and never raw
// rows, and it knows nothing of pages or records. Causes and checks are data, each registered in
// one list (causes.go, checks.go). Sources: common practice for the list of causes and checks;
// Heckerman, Breese and Rommelse, Decision-theoretic troubleshooting (1995), for the next check.
package judge
