// Package paper makes a crew's printed matter: cue sheets, a set list, the patch
// with address switch settings, the load of each circuit, and notices.
//
//	shows.Show ──Rows──► table, sheet (text, HTML)
//	           ──Sums──► watts by circuit: all at full, and the planned worst
//	           ──NewBook─► Book ──PDF, HTML─► a night to print: set list, cue
//	                       sheets, trouble, patch, power, notices for the door
//
// All loads are sums of stated watts; nothing is measured. Mains distribution is
// for qualified people under local code.
//
// Sources: ANSI E1.11 (slots). Address switches that count 1, 2, 4 ... 256 are
// common practice, no source. The 80 % rule for continuous load: NEC 210.20(A)
// and 215.3, from memory; other countries have their own rules.
package paper
