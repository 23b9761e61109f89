package journal

import (
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/commands"
)

// eventWords are the words of the clock's events. They never change: files hold them.
var eventWords = [...]string{
	clock.Tick24:   "tick",
	clock.Start:    "start",
	clock.Stop:     "stop",
	clock.Continue: "continue",
	clock.Locate:   "locate",
	clock.Tap:      "tap",
	clock.SetTempo: "tempo",
	clock.Lost:     "port-lost",
	clock.Halve:    "halve",
	clock.Double:   "double",
	clock.Planned:  "planned",
}

// eventName returns the word of an event, or "" if there is no such event.
func eventName(k clock.Kind) string {
	if int(k) >= len(eventWords) {
		return ""
	}
	return eventWords[k]
}

// eventByWord returns the event of a word.
func eventByWord(word string) (clock.Kind, bool) {
	i := slices.Index(eventWords[1:], word)
	return clock.Kind(i + 1), i >= 0
}

// CommandName returns the word of a command, or "" if there is no such command.
func CommandName(k engine.CommandKind) string {
	row, ok := commands.Lookup(k)
	if !ok {
		return ""
	}
	return row.JournalWord()
}

// commandByWord returns the command of a word, also of one in older journals.
func commandByWord(word string) (engine.CommandKind, bool) {
	for _, row := range commands.Table() {
		if row.Kind() != 0 && (row.JournalWord() == word || slices.Contains(row.FormerNames, word)) {
			return row.Kind(), true
		}
	}
	return 0, false
}
