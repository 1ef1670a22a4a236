// Package sense turns a collector's log into what a judgement needs: running periods, cleaning
// cycles, filter drag with the airflow inferred where nobody measured it, header drops valve by
// valve, and the changes somebody made without writing them down. It reads the rows once, keeps
// hourly summaries and cycles (History), and answers as of any time (Features). It concludes
// nothing about causes; that is package judge's work. Sources stand beside each method.
package sense
