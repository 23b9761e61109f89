// Package shows reads the files of a show and compiles them into the numbers
// that the engine plays, or reports every fault in them.
//
//	show.yaml  rig.yaml  looks.yaml  songs/*.yaml  sets/*.yaml  profiles/*.yaml
//	      │ language.Parse: YAML checked against the shape of the file's kind
//	      ▼
//	   []*language.File, values that know their line and column
//	      │ Compile: names to indexes, words to numbers, cues made complete
//	      ▼
//	   *Show: engine.Program and Outputs      or      Problems, all of them
//
// A [Loader] loads a show again after each edit. It parses only files with other bytes,
// and solves colours only for heads with other emitters or another white; the rest of
// Compile runs anew. Both are pure functions whose results are kept under their whole
// input, so that the show is the same as from [Load].
//
// Sources: IEC 61966-2-1 for colours, E1.31-2018 and Art-Net 4 for universe numbers,
// MIDI 1.0 for channels, notes and programs.
package shows
