// Package reference writes the pages of docs that the program knows best itself,
// so that they cannot fall behind it.
//
//	commands.Table ─► docs/osc.md               what a show can be asked to do
//	shows.Reference ─► docs/reference/KIND.md   each kind of file, key by key
//	the command line ─► docs/reference/commands, and man pages
//
// "make docs" runs it, and a test of cmd/tactus says when the pages in docs are
// not those that it writes.
package reference
