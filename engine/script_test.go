package engine

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

var update = flag.Bool("update", false, "write what the scripts in testdata/frames answer; read the diff")

const framesDir = "../testdata/frames"

// TestFrames plays the scripts in testdata/frames; their README has the verbs.
func TestFramesGolden(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(framesDir, "*.txt"))
	require.NoError(t, err, "no scripts in %s", framesDir)
	require.NotEmpty(t, files, "no scripts in %s", framesDir)
	for _, name := range files {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txt"), func(t *testing.T) {
			src, err := os.ReadFile(name)
			require.NoError(t, err)
			got := playScript(t, name, string(src))
			if *update {
				require.NoError(t, os.WriteFile(name, []byte(got), 0o644))
				return
			}
			assert.Empty(t, cmp.Diff(strings.Split(string(src), "\n"), strings.Split(got, "\n")), "%s (- as written, + as played)", name)
		})
	}
}

// playScript returns the script with its answers as the engine gives them. An
// answer is the lines that begin with a bar.
func playScript(t *testing.T, name, src string) string {
	t.Helper()
	s := newStage(asPlayed(t))
	var out strings.Builder
	for i, line := range strings.Split(strings.TrimSuffix(src, "\n"), "\n") {
		if strings.HasPrefix(line, "|") {
			continue
		}
		out.WriteString(line + "\n")
		words, _, _ := strings.Cut(line, "#")
		require.NoError(t, s.do(strings.Fields(words), &out), "%s:%d: %q", name, i+1, line)
	}
	return out.String()
}

// stage is an engine with a transport that keeps perfect time.
type stage struct {
	engine *Engine
	meter  Meter
	pos    clock.Position
	sent   []string
}

func newStage(p *Program) *stage {
	s := &stage{engine: New(p), meter: Meter{4, 4}}
	s.pos = clock.Position{Tempo: clock.BPM(120), Sync: clock.Locked, Source: clock.MIDI}
	s.frame()
	return s
}

// frame renders now.
func (s *stage) frame() {
	s.engine.Frame(s.pos)
	for _, i := range s.engine.DueSends() {
		s.sent = append(s.sent, fmt.Sprintf("%s at %s", s.engine.prog.Sends[i].Text, s.place()))
	}
}

// place is where the transport stands.
func (s *stage) place() string {
	if !s.pos.Playing {
		return "rest"
	}
	return "beat " + strconv.FormatFloat(float64(s.pos.Beat)/float64(s.meter.Beat()), 'f', 3, 64)
}

// move lets time pass without a frame.
func (s *stage) move(span clock.Time, b clock.Beat) {
	s.pos.At += span
	s.pos.Pulse += b
	if s.pos.Playing {
		s.pos.Beat += b
	}
}

// pass lets a time pass, with a frame each 44th of a second.
func (s *stage) pass(span clock.Time) {
	began, all := s.pos, s.pos.Tempo.Beats(span)
	const period = clock.Second / 44
	for past := period; past < span; past += period {
		s.pos = began
		s.move(past, s.pos.Tempo.Beats(past))
		s.frame()
	}
	s.pos = began
	s.move(span, all)
	s.frame()
}

// play lets the music move to a beat of the transport, with a frame each tick.
func (s *stage) play(to clock.Beat) error {
	if !s.pos.Playing || to < s.pos.Beat {
		return fmt.Errorf("the transport is at %v quarters, playing: %v", s.pos.Beat.Quarters(), s.pos.Playing)
	}
	for s.pos.Beat < to {
		step := min(to, (s.pos.Beat+1).CeilTo(clock.Tick)) - s.pos.Beat
		s.move(s.pos.Tempo.Span(step), step)
		s.frame()
	}
	return nil
}

func (s *stage) send(c Command) error { s.engine.Do(c, s.pos); return nil }

// do carries out a line of a script.
func (s *stage) do(w []string, out *strings.Builder) error {
	if len(w) == 0 {
		return nil
	}
	rest := strings.Join(w[1:], " ")
	switch w[0] {
	case "meter", "tempo", "to", "wait", "start", "stop", "continue", "locate", "show":
		return s.transport(w[0], rest)
	case "frame":
		s.frame()
		s.print(out)
		return nil
	case "frames":
		return s.frames(rest, out)
	case "lengthen", "dim", "strike":
		return s.edit(w[0], rest)
	case "sent":
		fmt.Fprintf(out, "| sent: %s\n", strings.Join(s.sent, ", "))
		s.sent = nil
		return nil
	case "status":
		s.printStatus(out)
		return nil
	case "flashes":
		s.printFlashes(out)
		return nil
	}
	c, err := s.command(w[0], rest)
	if err != nil {
		return err
	}
	return s.send(c)
}

func (s *stage) transport(verb, rest string) (err error) {
	var b clock.Beat
	var span clock.Time
	switch verb {
	case "meter":
		_, err = fmt.Sscanf(rest, "%d/%d", &s.meter.Upper, &s.meter.Lower)
	case "tempo":
		var bpm float64
		bpm, err = number(rest)
		s.pos.Tempo = s.meter.Quarters(clock.BPM(bpm))
	case "to":
		// to 16, to 16 + 20 ms, to 16 - 20 ms
		off := clock.Time(0)
		if w := strings.Fields(rest); len(w) == 4 {
			off, err = span1(w[2] + " " + w[3])
			if w[1] == "-" {
				off = -off
			}
			rest = w[0]
		}
		if err == nil {
			if b, err = s.beat(rest); err == nil {
				err = s.play(b + s.pos.Tempo.Beats(off))
			}
		}
	case "wait":
		if span, err = span1(rest); err == nil {
			s.pass(span)
		}
	case "start":
		s.pos.Beat, s.pos.Pulse, s.pos.Playing = 0, 0, true
		s.pos.Jumps++
	case "stop":
		s.pos.Playing = false
	case "continue":
		s.pos.Pulse, s.pos.Playing = s.pos.Beat, true
	case "locate":
		if b, err = s.beat(rest); err == nil {
			s.pos.Beat = b
			s.pos.Jumps++
			if s.pos.Playing {
				s.pos.Pulse = b
			}
		}
	case "show":
		switch rest {
		case "runs on":
			s.engine.prog.RunsOn = true
		case "settles":
			s.engine.prog.EffectsStop = true
		case "hazes 2 s of 10":
			s.engine.prog.Haze = DutyCycle{On: 2 * clock.Second, Every: 10 * clock.Second}
		default:
			err = fmt.Errorf("no such kind of show")
		}
	}
	return err
}

func (s *stage) command(verb, rest string) (Command, error) {
	rest, bound, _ := strings.Cut(rest, " at ")
	when := map[string]When{"": AtOnce, "beat": NextBeat, "bar": NextBar, "section end": SectionEnd, "phrase": NextPhrase}[bound]
	find := func(kind CommandKind, n int, name func(i int) string) (Command, error) {
		for i := range n {
			if name(i) == rest {
				return Command{Kind: kind, Index: int32(i), When: when}, nil
			}
		}
		return Command{}, fmt.Errorf("nothing is called %q", rest)
	}
	section := func(kind CommandKind) (Command, error) {
		if n, ok := strings.CutPrefix(rest, "name "); ok {
			return Command{Kind: kind + FireName - FireSection, Index: int32(slices.Index(s.engine.prog.SectionNames, n)), When: when}, nil
		}
		if n, ok := strings.CutPrefix(rest, "note "); ok {
			note, err := strconv.Atoi(n)
			return Command{Kind: kind + FireNote - FireSection, Index: int32(note), When: when}, err
		}
		if s.engine.play.song == None {
			return Command{}, fmt.Errorf("no song")
		}
		ss := s.engine.prog.Songs[s.engine.play.song].Sections
		return find(kind, len(ss), func(i int) string { return ss[i].Name })
	}
	p := s.engine.prog
	switch verb {
	case "select":
		return find(SelectSong, len(p.Songs), func(i int) string { return p.Songs[i].Name })
	case "program":
		return find(SelectByProgram, len(p.Songs), func(i int) string { return p.Songs[i].Name })
	case "look":
		return find(ShowLook, len(p.Looks), func(i int) string { return p.Looks[i].Name })
	case "fire":
		return section(FireSection)
	case "arm":
		return section(ArmSection)
	case "hand":
		return s.hand(rest + " " + bound)
	case "let":
		return find(ReleaseOverride, len(p.Groups), func(i int) string { return "go of " + p.Groups[i].Name })
	case "group":
		c, err := s.hand(rest + " " + bound)
		c.Kind = GroupMaster
		return c, err
	case "place":
		n, err := strconv.Atoi(rest)
		return Command{Kind: SelectPlace, Index: int32(n - 1)}, err
	case "master":
		level, over, _ := strings.Cut(rest, " over ")
		n, err := number(strings.TrimSuffix(level, " %"))
		c := Command{Kind: GrandMaster, Level: n / 100}
		if err == nil && over != "" {
			c.Over, err = span1(over)
		}
		return c, err
	}
	kind, ok := map[string]CommandKind{
		"next song": NextSong, "disarm": Disarm, "walk-in": ShowWalkIn, "walk-out": ShowWalkOut,
		"hold": Hold, "release": Release, "blackout": Blackout, "restore": Restore,
		"previous song": PreviousSong, "restart song": RestartSong, "next section": NextSection,
		"previous section": PreviousSection, "talk": ShowTalk, "pad": ShowPad, "house up": HouseUp,
		"house half": HouseHalf, "house out": HouseOut, "house as cued": HouseFree, "work light": WorkLight,
		"work light off": WorkLightOff, "half time": HalfTime, "double time": DoubleTime,
		"straight time": StraightTime, "downbeat": Downbeat,
	}[strings.TrimSpace(verb+" "+rest)]
	if !ok {
		return Command{}, fmt.Errorf("no such verb")
	}
	return Command{Kind: kind, When: when}, nil
}

// hand reads a group, its level, how long it takes and holds: "lamps 50 % over
// 1 s for 4 s".
func (s *stage) hand(text string) (Command, error) {
	c := Command{Kind: Override}
	text, hold, timed := strings.Cut(text, " for ")
	text, over, slow := strings.Cut(text, " over ")
	w := strings.Fields(text)
	if len(w) != 3 || w[2] != "%" {
		return c, fmt.Errorf("want a group and a level")
	}
	n, err := number(w[1])
	c.Level, c.Index = n/100, None
	for i, g := range s.engine.prog.Groups {
		if g.Name == w[0] {
			c.Index = int32(i)
		}
	}
	if err == nil && slow {
		c.Over, err = span1(over)
	}
	if err == nil && timed {
		c.For, err = span1(hold)
	}
	return c, err
}

// frames plays and prints: "4..8 step 1/2" in beats, "for 2 s step 1/2 s".
func (s *stage) frames(rest string, out *strings.Builder) error {
	reach, step, ok := strings.Cut(rest, " step ")
	if !ok {
		return fmt.Errorf("want a step")
	}
	if long, ok := strings.CutPrefix(reach, "for "); ok {
		end, err := span1(long)
		if err != nil {
			return err
		}
		gap, err := span1(step)
		if err != nil {
			return err
		}
		s.frame()
		s.print(out)
		for t := gap; t <= end; t += gap {
			s.pass(gap)
			s.print(out)
		}
		return nil
	}
	first, last, _ := strings.Cut(reach, "..")
	from, err := s.beat(first)
	if err != nil {
		return err
	}
	to, err := s.beat(last)
	if err != nil {
		return err
	}
	gap, err := s.beat(step)
	if err != nil {
		return err
	}
	for b := from; b <= to; b += gap {
		if err := s.play(b); err != nil {
			return err
		}
		s.frame()
		s.print(out)
	}
	return nil
}

// print answers with the place and the slots: washes, lamps, front, house, haze.
func (s *stage) print(out *strings.Builder) {
	place := "stopped"
	if s.pos.Playing {
		place = "beat " + strconv.FormatFloat(float64(s.pos.Beat)/float64(s.meter.Beat()), 'f', 3, 64)
	}
	st := s.engine.Status(s.pos)
	section := "-"
	if st.Section != None {
		section = s.engine.prog.Songs[st.Song].Sections[st.Section].Name
	}
	u := s.engine.universes[0].Slots
	fmt.Fprintf(out, "| %-11s %-9s %-9s washes %x %x  lamps % x  front %x  house %x  haze % x\n",
		place, section, st.Look, u[0:3], u[3:6], u[6:10], u[10:11], u[11:12], u[12:14])
}

func (s *stage) printStatus(out *strings.Builder) {
	st := s.engine.Status(s.pos)
	p := s.engine.prog
	song, armed := "-", ""
	if st.Song != None {
		song = p.Songs[st.Song].Name
		if st.Armed != None {
			armed = fmt.Sprintf(", %s armed at beat %v of the song", p.Songs[st.Song].Sections[st.Armed].Name,
				float64(st.ArmedAt)/float64(s.meter.Beat()))
		}
	}
	if st.Section != None && len(p.Songs[st.Song].Variants) > 0 {
		armed = fmt.Sprintf(", pass %d of energy %d", st.Pass, st.Energy) + armed
	}
	if st.SongWaits {
		armed += fmt.Sprintf(", %s waits", p.Songs[st.SongArmed].Name)
	}
	if st.Programs.Undone > 0 {
		armed += fmt.Sprintf(", %d undone", st.Programs.Undone)
	}
	if st.Work || st.Overrides > 0 {
		armed += fmt.Sprintf(", work light %v, %d by hand", st.Work, st.Overrides)
	}
	fmt.Fprintf(out, "| song %s, beat %.3f%s, held %v, blackout %v, grand master %.0f %%, %d unknown\n",
		song, float64(st.Beat)/float64(s.meter.Beat()), armed, st.Held, st.Blackout, st.Grand*100, st.Unknown)
}

// printFlashes says what the flash limiter does.
func (s *stage) printFlashes(out *strings.Builder) {
	f := &s.engine.limiter.status
	if !f.Acting {
		fmt.Fprintf(out, "| no flash held back, %d times so far\n", f.Count)
		return
	}
	fmt.Fprintf(out, "| flashes held back: %s, %s, %.1f a second asked, %.1f let through\n", f.Area, f.Kind, f.Wanted, f.LetThrough)
}

// beat reads a number of beats of the script's meter.
func (s *stage) beat(text string) (clock.Beat, error) {
	n, err := number(strings.TrimSpace(text))
	return clock.Beat(n*float64(s.meter.Beat()) + 0.5), err
}

// number reads 12, 0.5 or 1/3.
func number(text string) (float64, error) {
	top, bottom, ok := strings.Cut(text, "/")
	n, err := strconv.ParseFloat(top, 64)
	if err != nil || !ok {
		return n, err
	}
	d, err := strconv.ParseFloat(bottom, 64)
	return n / d, err
}

// span1 reads "2 s" or "20 ms".
func span1(text string) (clock.Time, error) {
	w := strings.Fields(text)
	if len(w) != 2 {
		return 0, fmt.Errorf("%q is not a time", text)
	}
	n, err := number(w[0])
	switch w[1] {
	case "s":
		return clock.Time(n * float64(clock.Second)), err
	case "ms":
		return clock.Time(n * float64(clock.Millisecond)), err
	}
	return 0, fmt.Errorf("%q is not a time", text)
}
