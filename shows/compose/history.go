package compose

import (
	"bytes"
	"maps"
	"slices"
)

// MaxHistoryBytes bounds the text that a session keeps to undo and redo changes: for each
// edit the bytes that it removes and adds, and about 200 more, so that a million edits fit.
// Beyond it the oldest changes can no longer be undone.
const MaxHistoryBytes = 256 << 20

// patch is what a change does to one file.
type patch struct {
	file string
	was  bool // the file existed before
	is   bool // it exists after
	at   int  // octet where the texts begin to differ
	old  []byte
	now  []byte
}

// patchBytes is what a patch takes besides its texts, about.
const patchBytes = 200

// patches returns what leads from one set of sources to another, by file.
func patches(from, to map[string][]byte) (list []patch) {
	names := slices.Collect(maps.Keys(from))
	for name := range to {
		if _, both := from[name]; !both {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		old, was := from[name]
		now, is := to[name]
		if was == is && bytes.Equal(old, now) {
			continue
		}
		p := patch{file: name, was: was, is: is}
		for p.at < min(len(old), len(now)) && old[p.at] == now[p.at] {
			p.at++
		}
		end := 0
		for end < min(len(old), len(now))-p.at && old[len(old)-1-end] == now[len(now)-1-end] {
			end++
		}
		p.old, p.now = bytes.Clone(old[p.at:len(old)-end]), bytes.Clone(now[p.at:len(now)-end])
		list = append(list, p)
	}
	return list
}

// reversed returns the patch that leads back.
func (p patch) reversed() patch {
	p.was, p.is, p.old, p.now = p.is, p.was, p.now, p.old
	return p
}

// apply makes the change of one file in sources that are as they were before it.
func (p patch) apply(sources map[string][]byte) {
	if !p.is {
		delete(sources, p.file)
		return
	}
	src := sources[p.file]
	sources[p.file] = slices.Concat(src[:p.at], p.now, src[p.at+len(p.old):])
}

// step is a change that can be undone as a whole.
type step struct {
	words   string
	patches []patch // of different files
}

// reversed returns the step that undoes this one.
func (s step) reversed() step {
	back := step{words: "undo of " + s.words}
	for _, p := range s.patches {
		back.patches = append(back.patches, p.reversed())
	}
	return back
}

// after returns what sources are after the step; the argument stays as it is.
func (s step) after(sources map[string][]byte) map[string][]byte {
	next := maps.Clone(sources)
	for _, p := range s.patches {
		p.apply(next)
	}
	return next
}

func (s step) size() int {
	n := 0
	for _, p := range s.patches {
		n += patchBytes + len(p.file) + len(p.old) + len(p.now)
	}
	return n
}

// history has the changes of a session, in order.
type history struct {
	steps []step
	done  int // steps that are done; those after them were undone
	saved int // steps that are on the disk; -1: that state cannot be reached any more
	size  int // bytes of all steps
	most  int // bytes that the steps may take
}

// add adds a step that was just done. Steps that were undone are dropped.
func (h *history) add(s step) {
	for _, dropped := range h.steps[h.done:] {
		h.size -= dropped.size()
	}
	if h.saved > h.done {
		h.saved = -1
	}
	h.steps = append(slices.Delete(h.steps, h.done, len(h.steps)), s)
	h.done++
	h.size += s.size()
	for h.size > h.most && len(h.steps) > 1 {
		h.size -= h.steps[0].size()
		h.steps = slices.Delete(h.steps, 0, 1)
		h.done--
		h.saved = max(-1, h.saved-1)
	}
}

// amend makes a step a part of the last one: they are undone together. A last step that is
// on the disk, or none, stays by itself.
func (h *history) amend(s step, now map[string][]byte) {
	if h.done == 0 || h.done == h.saved {
		h.add(s)
		return
	}
	before := h.steps[h.done-1].reversed().after(s.reversed().after(now))
	h.done--
	s.patches = patches(before, now)
	h.add(s)
	if len(s.patches) == 0 {
		h.steps, h.done, h.size = h.steps[:h.done-1], h.done-1, h.size-s.size()
	}
}

// undoes says what an undo would undo, or "".
func (h *history) undoes() string {
	if h.done == 0 {
		return ""
	}
	return h.steps[h.done-1].words
}

// redoes says what a redo would do again, or "".
func (h *history) redoes() string {
	if h.done == len(h.steps) {
		return ""
	}
	return h.steps[h.done].words
}

// unsaved returns the steps that lead from the disk's state to the present one; ok is
// false if the history no longer has them.
func (h *history) unsaved() (list []step, ok bool) {
	switch {
	case h.saved < 0:
		return nil, false
	case h.saved <= h.done:
		return slices.Clone(h.steps[h.saved:h.done]), true
	}
	for _, s := range slices.Backward(h.steps[h.done:h.saved]) {
		list = append(list, s.reversed())
	}
	return list, true
}
