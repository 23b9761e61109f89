// Package language is the language of show files: which keys there are, what
// may stand under them, and where a file does not fit.
//
//	bytes ──► YAML ──► checker against the shape of its kind ──► File: values with their places
//	                          │                          └─────► Problems: file, line, column, what would fit
//	                          └─ the same shapes ──► Schema (for editors), Reference (for docs)
//
// It knows what a quantity is, and no rig and no song: what a name stands for is
// for package shows to find out.
//
// A shape (shape.go and the *_shape.go tables) is the one description of a kind
// of file. Parse checks files with it and Schema prints it as JSON Schema, so
// that an editor and the loader cannot disagree about what they both can see.
//
// Scalars are read from their source text. What YAML would make of "yes", "010"
// or "1e3" only serves to say clearly why they are refused.
//
// Sources: YAML 1.2.2 (core schema, 10.3.2), JSON Schema draft 2020-12.
package language
