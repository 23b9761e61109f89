// Package rules holds the repository's own rules as tests: who may import
// whom, who may read the time, how large files grow, what must be documented.
//
//	every .go file ──parse──► tree ──each rule──► faults (file:line, what, why)
//
// A rule that needs an exception gets it here, by name and with a reason, so
// that exceptions are seen in review. Each rule is also run on a small tree
// made to break it ([TestEachRuleBites]): a rule that cannot fail is no rule.
//
// Source: DEVELOPERS.md, which says the same in prose.
package rules
