// Package yamltext changes values of a YAML file in place: every byte that an edit does
// not concern stays, with comments, order, quotes, blank lines and line ends.
//
//	bytes ──Parse──► Document: values, with the octets that each takes ──edits──► Bytes ──► bytes
//
// A value is named by a path of keys and indexes, such as "sections", 3, "chorus",
// "energy". After each edit the new text is parsed again: its values must be the old ones
// with just that change, and every comment must still be there. Otherwise the edit is
// refused, and the text stays as it was.
//
// Anchors, aliases, tags and keys that are no texts are refused, as in show files.
//
// Source: YAML 1.2.2.
package yamltext
