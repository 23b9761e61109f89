// Package shows reads show files, reports every fault in them, and compiles
// them into the numbers that the engine plays.
//
//	show.yaml  rig.yaml  looks.yaml  songs/*.yaml  sets/*.yaml  profiles/*.yaml
//	      │ Parse: YAML nodes held against the shape of the file's kind
//	      ▼
//	   []*File, values that know their line and column
//	      │ Compile: names to indexes, words to numbers, cues made complete
//	      ▼
//	   *Show: engine.Program and Outputs      or      Problems, all of them
//
// A shape (shape.go and the *_shape.go tables) is the one description of a kind
// of file. Parse checks files with it and Schema prints it as JSON Schema, so
// that an editor and the loader cannot disagree about what they both can see.
//
// Scalars are read from their source text. What YAML would make of "yes", "010"
// or "1e3" only serves to say clearly why they are refused.
//
// Sources: YAML 1.2.2 (core schema, 10.3.2), JSON Schema draft 2020-12,
// IEC 61966-2-1 for colours, E1.31-2018 and Art-Net 4 for universe numbers,
// MIDI 1.0 for channels, notes and programs.
package shows
