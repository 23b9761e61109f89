package replay

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/engine/night"
)

// playedReport puts what was played beside what was planned.
type playedReport struct {
	program *engine.Program
	play    *engine.Replay
	started time.Time
	from    clock.Time // of the run: where the show became what it is here
	rows    []stretch
	byHand  []string
	armed   []string // program changes that came while a song played, and what became of them
	changes engine.ProgramStatus
	last    clock.Beat // of the frame before
	ended   clock.Time

	missed, errors, dropped, lost, ticks, frames, unknown uint64
}

// stretch is a stretch in one section, or with one look.
type stretch struct {
	at      clock.Time
	song    int32
	section int32
	pass    int
	look    string // outside songs
	bars    float64
}

// same reports whether a row goes on.
func (p *stretch) same(q *stretch) bool {
	return p.song == q.song && p.section == q.section && p.pass == q.pass && p.look == q.look
}

func newPlayedReport(p *engine.Program, started time.Time, from clock.Time, play *engine.Replay) *playedReport {
	return &playedReport{program: p, play: play, started: started, from: from, ended: from}
}

// frame notes where the show is.
func (p *playedReport) frame(r *engine.Record) {
	p.frames++
	p.ended = r.At
	p.missed += r.Missed
	p.errors += r.Errors
	st := p.play.Status()
	p.unknown = st.Unknown
	p.programs(r.At, &st)
	now := stretch{at: r.At, song: st.Song, section: st.Section, pass: st.Pass}
	if st.Song == engine.None || st.Section == engine.None {
		now.look = st.Look
	}
	if n := len(p.rows); n > 0 && p.rows[n-1].song == st.Song && st.Song != engine.None {
		step := st.Beat - p.last // a jump is no music
		if bar := p.program.Songs[st.Song].MeterAt(st.Beat).Bar(); step > 0 && step < bar {
			p.rows[n-1].bars += float64(step) / float64(bar)
		}
	}
	p.last = st.Beat
	if n := len(p.rows); n == 0 || !p.rows[n-1].same(&now) {
		p.rows = append(p.rows, now)
	}
}

// programs notes program changes that waited, whose song began, or that were undone.
func (p *playedReport) programs(at clock.Time, st *engine.Status) {
	was := p.changes
	p.changes = st.Programs
	name := func(song int32) string {
		if song == engine.None {
			return "no song"
		}
		return p.program.Songs[song].Name
	}
	add := func(format string, args ...any) {
		p.armed = append(p.armed, p.clock(at)+"  "+fmt.Sprintf(format, args...))
	}
	if st.Programs.Armed > was.Armed {
		add("%s waits, %s plays", name(st.Programs.Song), name(st.Song))
	}
	switch {
	case st.Programs.Begun == was.Begun:
	case st.SongArmed != engine.None && !st.SongWaits: // it is chosen on its downbeat
		p.changes.Begun = was.Begun
	case st.Song == st.Programs.Song || st.SongWaits: // else it was released before its downbeat
		add("%s is chosen", name(st.Song))
	}
	if st.Programs.Undone > was.Undone {
		add("%s is back by its note, instead of %s", name(st.Song), name(st.Programs.Song))
	}
}

// record counts, and notes what was played and what was done by hand.
func (p *playedReport) record(r *engine.Record) {
	switch r.Kind {
	case engine.RecordFrame:
		p.frame(r)
	case engine.RecordEvent:
		if r.Event.Kind == clock.Tick24 {
			p.ticks++
		}
	case engine.RecordDropped:
		p.dropped += r.Count
	case engine.RecordGap:
		p.lost += r.Count
	case engine.RecordCommand:
		if name := journal.CommandName(r.Command.Kind); name != "" && !musical(r.Command.Kind) {
			p.byHand = append(p.byHand, p.clock(r.At)+"  "+p.commandText(name, &r.Command))
		}
	}
}

// musical reports whether a command chooses what is played.
func musical(k engine.CommandKind) bool {
	return slices.Contains([]engine.CommandKind{
		engine.SelectSong, engine.NextSong, engine.PreviousSong, engine.SelectPlace, engine.RestartSong, engine.FireSection,
		engine.ArmSection, engine.FireNote, engine.ArmNote, engine.FireName, engine.ArmName,
		engine.NextSection, engine.PreviousSection, engine.SelectByProgram,
	}, k)
}

// commandText says a command in words.
func (p *playedReport) commandText(name string, c *engine.Command) string {
	words := []string{strings.ReplaceAll(name, "-", " ")}
	grouped := c.Kind == engine.Override || c.Kind == engine.ReleaseOverride || c.Kind == engine.GroupMaster
	if grouped && c.Index >= 0 && int(c.Index) < len(p.program.Groups) {
		words = append(words, p.program.Groups[c.Index].Name)
	}
	if c.Kind == engine.Override {
		words = append(words, c.Param.String())
	}
	if c.Kind == engine.Override || c.Kind == engine.GroupMaster || c.Kind == engine.GrandMaster {
		words = append(words, fmt.Sprintf("%.0f %%", c.Level*100))
	}
	if c.Kind == engine.ShowLook && c.Index >= 0 && int(c.Index) < len(p.program.Looks) {
		words = append(words, fmt.Sprintf("%q", p.program.Looks[c.Index].Name))
	}
	if c.For > 0 {
		words = append(words, "for "+time.Duration(c.For).String())
	}
	return strings.Join(words, " ")
}

func (p *playedReport) clock(at clock.Time) string {
	return p.started.Add(time.Duration(at)).Local().Format("15:04:05")
}

func (p *playedReport) print(out io.Writer) {
	fmt.Fprintf(out, "%s, set %q, %s, %s to %s\n\n", p.program.Name, p.program.SetName,
		p.started.Local().Format("2 January 2006"), p.clock(p.from), p.clock(p.ended))
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "time\tsong\tsection\tpass\tbars\tplanned\t")
	for i := range p.rows {
		p.printRow(t, i)
	}
	t.Flush()
	p.printUnplayed(out)
	if len(p.armed) > 0 {
		fmt.Fprintf(out, "\nProgram changes while a song played:\n%s\n", strings.Join(p.armed, "\n"))
	}
	if len(p.byHand) > 0 {
		fmt.Fprintf(out, "\nBy hand:\n%s\n", strings.Join(p.byHand, "\n"))
	}
	fmt.Fprintf(out, "\n%d frames, %d missed, %d refused by an output; %d MIDI clocks; %d MIDI messages dropped; %d asked for what the show lacks; %d records lost\n\n",
		p.frames, p.missed, p.errors, p.ticks, p.dropped, p.unknown, p.lost)
}

// printRow prints a stretch, with its planned length and whether it stands where the
// plan has it.
func (p *playedReport) printRow(t io.Writer, i int) {
	r := &p.rows[i]
	if r.song == engine.None {
		fmt.Fprintf(t, "%s\t\tlook %q\t\t\t\t\n", p.clock(r.at), r.look)
		return
	}
	song := &p.program.Songs[r.song]
	if r.section == engine.None {
		fmt.Fprintf(t, "%s\t%s\toutside its sections\t\t%s\t\t\n", p.clock(r.at), song.Name, barsText(r.bars))
		return
	}
	section := &song.Sections[r.section]
	note := ""
	if want := p.planned(i); want != r.section && want != engine.None {
		note = fmt.Sprintf("planned here: %s", song.Sections[want].Name)
	}
	fmt.Fprintf(t, "%s\t%s\t%s\t%d\t%s\t%d\t%s\n", p.clock(r.at), song.Name, section.Name, r.pass,
		barsText(r.bars), song.SectionBars(r.section), note)
}

// planned returns the section that the plan has at row i, going by the one
// before; None after the last.
func (p *playedReport) planned(i int) int32 {
	song := p.rows[i].song
	for i--; i >= 0 && p.rows[i].song == song; i-- {
		if s := p.rows[i].section; s != engine.None {
			if int(s)+1 < len(p.program.Songs[song].Sections) {
				return s + 1
			}
			return engine.None
		}
	}
	return 0
}

// printUnplayed prints what was planned and not played: songs of the set, sections of
// the songs.
func (p *playedReport) printUnplayed(out io.Writer) {
	var lines []string
	for _, s := range night.PlannedSongs(p.program) {
		n := s.Index
		song := &p.program.Songs[n]
		if !slices.ContainsFunc(p.rows, func(r stretch) bool { return r.song == n && r.section != engine.None }) {
			lines = append(lines, song.Name)
			continue
		}
		var names []string
		for s := range song.Sections {
			if !slices.ContainsFunc(p.rows, func(r stretch) bool { return r.song == n && r.section == int32(s) }) {
				names = append(names, song.Sections[s].Name)
			}
		}
		if len(names) > 0 {
			lines = append(lines, song.Name+": "+strings.Join(names, ", "))
		}
	}
	if len(lines) > 0 {
		fmt.Fprintf(out, "\nPlanned and not played:\n%s\n", strings.Join(lines, "\n"))
	}
}

// barsText writes a number of bars to a tenth.
func barsText(bars float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", bars), ".0") }
