// Package language defines the language of show files: their keys and the values
// allowed for each. It checks files and reports the place of each fault.
//
//	bytes ──► YAML ──► checker against the shape of its kind ──► File: values and their places
//	                          │                          └─────► Problems: file, line, column, what would fit
//	                          └─ the same shapes ──► Schema (for editors), Reference (for docs)
//
// It checks quantities and spelling, file by file. Package shows resolves the names
// of fixtures, looks, songs and so on.
//
// A shape (shape.go and the *_shape.go tables) is the only description of a kind of
// file. Parse checks files against it and Schema prints it as JSON Schema, so that
// editors and the loader apply the same rules.
//
// Scalars are read from their source text. Their YAML type, for example of "yes",
// "010" or "1e3", is used only to accept or refuse them with a clear message.
//
// Sources: YAML 1.2.2 (core schema, 10.3.2), JSON Schema draft 2020-12.
package language
