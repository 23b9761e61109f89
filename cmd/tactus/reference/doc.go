// Package reference generates pages of docs from the program, so that they always
// match it.
//
//	commands.Table ─► docs/osc.md               the requests that a show accepts
//	shows.Reference ─► docs/reference/KIND.md   each kind of file, key by key
//	the command line ─► docs/reference/commands, and man pages
//
// "make docs" runs it. A test of cmd/tactus fails when the pages in docs differ from
// the generated ones.
package reference
