package rules

import (
	"slices"
	"strings"
)

// module is the path that our own imports start with.
const module = "tactus/"

// layer is one step of the package map: its packages may import those of the
// steps above it in this list, never their own step or one below. The number of its
// step is a package's rank, in the map of DEVELOPERS.md too.
type layer struct {
	packages []string
	why      string // it imports nothing of its own rank or higher
}

func layers() []layer {
	return []layer{
		{
			[]string{"clock", "protocol/dmx", "protocol/udp", "shows/hearing/sound", "shows/hearing/loudness"},
			"time, slots, sockets and samples are what all else is written in; they know of nobody",
		},
		{
			[]string{"protocol/midi", "protocol/osc", "protocol/sacn", "protocol/artnet", "protocol/pcapng", "fixtures"},
			"a protocol or a fixture knows no other: one can be swapped, or tested with bytes alone",
		},
		{
			[]string{"engine/flash"},
			"what counts as a flash is said in one place, for the show before doors and for the frame on its way out",
		},
		{
			[]string{"clock/inwords"},
			"how a clock comes in is said in one place, for the terminal, the page, the log and the report about a computer",
		},
		{
			[]string{"fixtures/gdtf"},
			"a file of others becomes a profile of ours before any show is read",
		},
		{
			[]string{"engine"},
			"live, rehearsal, analysis and goldens run the same engine: it is handed a program and values, and calls nobody back",
		},
		{
			[]string{"engine/night"},
			"the night as planned is played in one place, from a compiled program alone: measured, explained, rehearsed and written to a file from there",
		},
		{
			[]string{"engine/commands"},
			"every command has its words in one place, for journals, show files, OSC, the page and the documentation",
		},
		{
			[]string{"engine/journal", "shows/limits"},
			"a journal's lines lie below whoever writes or reads one; what a night is judged by is named in show files before anything is judged",
		},
		{
			[]string{"engine/stream", "shows/language", "shows/sheet"},
			"what files may say is told, and pictures are drawn, without a rig or a song; what one run tells another has a form of its own, which knows of no network",
		},
		{
			[]string{"shows/position", "shows/smf", "shows/songtext"},
			"a place in a song reads the same in a file, on a command line and on the page; a file format, and the lines of a file, lie below the shows that read it",
		},
		{
			[]string{"shows/yamltext", "shows/hearing"},
			"a value in a file is changed, and a recording heard, without knowing what a show is",
		},
		{
			[]string{"shows"},
			"shows compile into engine types; analysis and paperwork read shows, so that a fault in them cannot stop a load",
		},
		{
			[]string{"shows/showtest"},
			"tests of all that reads shows load them in one way",
		},
		{
			[]string{"shows/find", "shows/waveform", "shows/written"},
			"names are found, and what files write is read, before anything is said of it",
		},
		{
			[]string{"shows/explain"},
			"what is asked of a loaded show changes nothing in it",
		},
		{
			[]string{"shows/plan"},
			"what is measured is measured before anything is drafted, drawn or printed from it",
		},
		{
			[]string{"shows/draft", "shows/merge"},
			"a draft may look at what was measured; nothing that draws or prints writes songs",
		},
		{
			[]string{"shows/compose", "shows/newrig", "shows/paper", "shows/plot", "shows/swatches"},
			"paper and pictures are two readers of one program; a show for a new hall is drafted with what drafts all others; what a person changes in a show's files is made, judged and written in one place",
		},
		{
			[]string{"panel"},
			"the page sends commands and reads copies; no light waits for a browser",
		},
		{
			[]string{"cmd/tactus/draw", "cmd/tactus/laptop", "cmd/tactus/notemap", "cmd/tactus/profilelist", "cmd/tactus/reference"},
			"a drawing or a verdict is made from copies: it needs no flags, signals or terminal",
		},
		{
			[]string{"cmd/tactus/realtime", "cmd/tactus/service", "cmd/tactus/terminal", "cmd/tactus/usage", "cmd/tactus/wholefile"},
			"waiting, telling mistakes and writing files know of no show",
		},
		{
			[]string{"cmd/tactus/pairing", "cmd/tactus/realtime/wakenoise", "cmd/tactus/showfiles"},
			"keys are kept, and files are opened and looked at, for whoever plays, checks or replays a show; a benchmark's reference wakes as the program does",
		},
		{
			[]string{"cmd/tactus/resume", "cmd/tactus/senders", "cmd/tactus/standby"},
			"a run and the replay of one open the same senders; who of two computers is on the lamps is decided without either's light",
		},
		{
			[]string{"cmd/tactus/live"},
			"a show is played by a run, a rehearsal, a walk, an alignment or a test of the computer alike",
		},
		{
			[]string{"cmd/tactus/align", "cmd/tactus/rehearsal", "cmd/tactus/replay", "cmd/tactus/trial", "cmd/tactus/walk", "cmd/tactus/watch"},
			"each is one command's work",
		},
		{
			[]string{"cmd/tactus", "cmd/rules", "cmd/benchtable"},
			"the wiring is at the end: nothing hangs on it",
		},
	}
}

// place returns the step of a package in the map, or -1.
func place(pkg string) int {
	return slices.IndexFunc(layers(), func(l layer) bool { return slices.Contains(l.packages, pkg) })
}

// ranks forbids imports of the same or a higher rank, in tests too.
func ranks(t *tree) (out []fault) {
	for _, f := range t.files {
		from := place(f.dir)
		if from < 0 {
			out = append(out, t.fault(f.ast.Name, "package %s has no rank: give it one here and in the map in DEVELOPERS.md", f.dir))
			continue
		}
		for imp, node := range f.imports() {
			pkg, ours := strings.CutPrefix(imp, module)
			if !ours || f.test && pkg == f.dir {
				continue // an external test imports what it tests
			}
			l, to := layers()[from], place(pkg)
			switch {
			case to < 0:
				out = append(out, t.fault(node, "%s imports %s, which has no rank", f.dir, imp))
			case to == from:
				out = append(out, t.fault(node, "%s imports %s of the same rank %d: %s", f.dir, imp, from, l.why))
			case to > from:
				out = append(out, t.fault(node, "%s (rank %d) imports %s (rank %d): %s", f.dir, from, imp, to, l.why))
			}
		}
	}
	return out
}

// ban forbids imports to packages.
type ban struct {
	packages []string // folders; a folder stands for those below it too; "" is all
	imports  []string // import paths; "net/" stands for all below net
	except   []string // files with a reason to import it all the same
	why      string
}

func importBans() []ban {
	return []ban{
		{
			packages: []string{"clock", "protocol/dmx", "fixtures", "engine"},
			imports:  []string{"net", "net/", "os", "os/", "syscall", "io/fs"},
			why:      "the core does no input or output: a frame cannot fail or wait",
		},
		{
			packages: []string{"clock", "protocol", "fixtures", "engine", "shows", "panel"},
			imports:  []string{"log", "log/"},
			why:      "libraries return errors and counts; the command logs them, at most once a second",
		},
		{
			packages: []string{"clock", "protocol/dmx", "fixtures", "engine", "shows"},
			imports:  []string{"math/rand", "math/rand/v2", "crypto/rand"},
			why:      "the same show gives the same bytes: noise and scatter come from a seed in the show",
		},
		{
			packages: []string{""},
			imports:  []string{"math/rand"},
			why:      "its shared source makes runs differ; use math/rand/v2, seeded",
		},
		{
			packages: []string{""},
			imports:  []string{"unsafe", "C"},
			except:   []string{"cmd/tactus/realtime/sleeper_windows.go"}, // its timer takes the address of a number; x/sys has no call for it
			why:      "default builds are pure Go; x/sys and the MIDI library wrap what we need",
		},
	}
}

// bans forbids imports outside tests.
func bans(t *tree) (out []fault) {
	for _, f := range t.product() {
		for imp, node := range f.imports() {
			for _, b := range importBans() {
				if within(f.dir, b.packages) && b.names(imp) && !slices.Contains(b.except, f.path) {
					out = append(out, t.fault(node, "%s imports %s: %s", f.dir, imp, b.why))
				}
			}
		}
	}
	return out
}

// names tells whether a ban covers an import.
func (b ban) names(imp string) bool {
	return slices.ContainsFunc(b.imports, func(i string) bool {
		return imp == i || strings.HasSuffix(i, "/") && strings.HasPrefix(imp, i)
	})
}

// within tells whether path is one of roots or lies below one.
func within(path string, roots []string) bool {
	return slices.ContainsFunc(roots, func(r string) bool {
		return r == "" || path == r || strings.HasPrefix(path, r+"/")
	})
}
