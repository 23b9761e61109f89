package rules

import "strings"

// grant allows packages to import a module of others.
type grant struct {
	module   string
	packages []string // folders; a folder stands for those below it too
	tests    bool     // in tests only, but everywhere
	why      string
}

// grants lists every foreign module the tree may import. The ranks of the core
// (clock, protocol/dmx, fixtures, engine) have none.
func grants() []grant {
	return []grant{
		{
			"gitlab.com/gomidi/midi/v2",
			[]string{"protocol/midi", "shows/smf"},
			false,
			"MIDI messages, ports and files: the field's own library",
		},
		{
			"gonum.org/v1/gonum",
			[]string{"shows/hearing"},
			false,
			"the Fourier transform",
		},
		{
			"github.com/mewkiz/flac",
			[]string{"shows/hearing/sound"},
			false,
			"recordings in FLAC",
		},
		{
			"github.com/hajimehoshi/go-mp3",
			[]string{"shows/hearing/sound"},
			false,
			"recordings in MP3",
		},
		{
			"github.com/jfreymuth/oggvorbis",
			[]string{"shows/hearing/sound"},
			false,
			"recordings in Ogg Vorbis",
		},
		{
			"github.com/kazzmir/opus-go",
			[]string{"shows/hearing/sound"},
			false,
			"recordings in Ogg Opus",
		},
		{
			"golang.org/x/net",
			[]string{"protocol/udp", "protocol/sacn", "protocol/artnet"},
			false,
			"multicast membership and many packets in one system call",
		},
		{
			"golang.org/x/sys",
			[]string{"protocol/midi", "protocol/udp", "protocol/artnet", "cmd/tactus"},
			false,
			"serial ports, socket options and scheduling that the standard library has no call for",
		},
		{
			"go.yaml.in/yaml/v4",
			[]string{"shows"},
			false,
			"show files, with the line and column of every fault",
		},
		{
			"github.com/go-pdf/fpdf",
			[]string{"shows/paper"},
			false,
			"pages to print",
		},
		{
			"golang.org/x/image",
			[]string{"shows/paper", "shows/sheet"},
			false,
			"letters on pictures and paper, and smooth edges",
		},
		{
			"github.com/schollz/progressbar/v3",
			[]string{"cmd/tactus"},
			false,
			"how far long work is",
		},
		{
			"github.com/prometheus/client_golang",
			[]string{"panel"},
			false,
			"metrics in the form that monitors read",
		},
		{
			"golang.org/x/crypto",
			[]string{"panel", "cmd/tactus"},
			false,
			"a passphrase is kept as a slow hash",
		},
		{
			"golang.org/x/time",
			[]string{"panel"},
			false,
			"how often somebody may try",
		},
		{
			"github.com/rogpeppe/go-internal/diff",
			[]string{"cmd/tactus", "shows/compose"},
			false,
			"what a command would change in a file, before it does; changes of two people merged line by line",
		},
		{
			"github.com/spf13/cobra",
			[]string{"cmd/tactus"},
			false,
			"commands, flags, help and shell completion",
		},
		{
			"github.com/spf13/pflag",
			[]string{"cmd/tactus"},
			false,
			"the flags of that library",
		},
		{
			"github.com/rs/zerolog",
			[]string{"cmd/tactus"},
			false,
			"the log, to a console or as JSON",
		},
		{
			"golang.org/x/text/width",
			[]string{"cmd/tactus"},
			false,
			"how many cells of a terminal a letter takes",
		},
		{
			"golang.org/x/text/encoding",
			[]string{"shows/newrig"},
			false,
			"lists that a spreadsheet exports in another encoding than UTF-8",
		},
		{
			"github.com/gofrs/flock",
			[]string{"cmd/tactus"},
			false,
			"one run at a time has an installation's identity, and its state",
		},
		{
			"github.com/coreos/go-systemd/v22/daemon",
			[]string{"cmd/tactus/service"},
			false,
			"tells systemd how the run does",
		},
		{
			"golang.org/x/term",
			[]string{"cmd/tactus"},
			false,
			"is this a terminal, and how wide",
		},
		{
			"github.com/google/uuid",
			[]string{"protocol/sacn", "cmd/tactus"},
			false,
			"the sender's CID is a UUID (E1.31-2018 5.6)",
		},
		{
			"github.com/ebitengine/purego",
			[]string{"cmd/tactus"},
			false,
			"macOS's own timer and thread policy, without C",
		},
		{
			"github.com/HdrHistogram/hdrhistogram-go",
			[]string{"cmd/tactus"},
			false,
			"how late frames wake, without a heap on the path",
		},
		{"github.com/lucasb-eyer/go-colorful", nil, true, "an independent colour library"},
		{"golang.org/x/image", nil, true, "an independent list of colour names"},
		{"gonum.org/v1/gonum", nil, true, "an independent library of statistics"},
		{"github.com/chromedp/chromedp", nil, true, "a real browser"},
		{"github.com/chromedp/cdproto", nil, true, "the same"},
		{"github.com/getkin/kin-openapi", nil, true, "an independent reader of the API's description"},
		{"pgregory.net/rapid", []string{"shows/showtest"}, true, "property tests"},
		{"github.com/google/go-cmp", nil, true, "readable differences"},
		{"github.com/stretchr/testify", []string{"shows/showtest", "cmd/tactus/realtime/wakenoise"}, true, "assertions that say what they have and what they want"},
		{"github.com/yuin/goldmark", nil, true, "an independent reader of our Markdown pages"},
		{"go.uber.org/goleak", nil, true, "goroutines left behind"},
		{"github.com/rogpeppe/go-internal", nil, true, "the real binary from text scripts"},
		{"github.com/santhosh-tekuri/jsonschema/v6", nil, true, "an independent reader of the schema we print"},
		{"golang.org/x/net", nil, true, "control messages of received packets"},
		{"golang.org/x/sys", nil, true, "FIFOs and namespaces"},
		{"gitlab.com/gomidi/midi/v2", nil, true, "an independent writer of what we read"},
		{"howett.net/plist", nil, true, "an independent reader of property lists"},
		{"github.com/goccy/go-yaml", nil, true, "an independent reader of what we print"},
		{"go.yaml.in/yaml/v4", nil, true, "an independent reader of what we print"},
	}
}

// thirdParty forbids foreign imports without a grant.
func thirdParty(t *tree) (out []fault) {
	for _, f := range t.files {
		for imp, node := range f.imports() {
			foreign := strings.Contains(strings.Split(imp, "/")[0], ".")
			if foreign && !granted(f, imp) {
				out = append(out, t.fault(node, "%s imports %s without a grant (its reason goes into grants, in thirdparty_test.go)", f.dir, imp))
			}
		}
	}
	return out
}

func granted(f *file, imp string) bool {
	for _, g := range grants() {
		if within(imp, []string{g.module}) && (g.tests && f.test || within(f.dir, g.packages)) {
			return true
		}
	}
	return false
}
