package journal

import (
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/commands"
)

// keyword is a word and what it stands for. Files keep the words.
type keyword[K comparable] struct {
	kind K
	word string
}

func eventWords() []keyword[clock.Kind] {
	return []keyword[clock.Kind]{
		{clock.Tick24, "tick"},
		{clock.Start, "start"},
		{clock.Stop, "stop"},
		{clock.Continue, "continue"},
		{clock.Locate, "locate"},
		{clock.Tap, "tap"},
		{clock.SetTempo, "tempo"},
		{clock.Lost, "port-lost"},
		{clock.Halve, "halve"},
		{clock.Double, "double"},
		{clock.Planned, "planned"},
	}
}

// wordOf returns the word of a kind, or "".
func wordOf[K comparable](list []keyword[K], kind K) string {
	for _, n := range list {
		if n.kind == kind {
			return n.word
		}
	}
	return ""
}

// kindOf returns the kind that a word stands for.
func kindOf[K comparable](list []keyword[K], word string) (kind K, ok bool) {
	for _, n := range list {
		if n.word == word {
			return n.kind, true
		}
	}
	return kind, false
}

// CommandName returns the word of a command, or "" for one that there is not.
func CommandName(k engine.CommandKind) string {
	row, ok := commands.Lookup(k)
	if !ok {
		return ""
	}
	return row.JournalWord()
}

// commandByWord returns the kind that a word stands for, now or in older journals.
func commandByWord(word string) (engine.CommandKind, bool) {
	for _, row := range commands.Table() {
		if row.Kind() != 0 && (row.JournalWord() == word || slices.Contains(row.FormerNames, word)) {
			return row.Kind(), true
		}
	}
	return 0, false
}
