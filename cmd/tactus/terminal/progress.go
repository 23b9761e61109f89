package terminal

import (
	"fmt"
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"

	"tactus/clock"
)

// Progress shows how much of long work is done: a bar on a terminal, elsewhere a line
// every two seconds.
type Progress struct {
	to      io.Writer
	what    string
	total   int
	At      int
	bar     *progressbar.ProgressBar // on a terminal, else nil
	now     func() clock.Time
	lineAt  clock.Time // when the last line was
	printed bool       // a line was printed, so that the end gets one too
}

// quietFor is the time between lines; work that takes less prints none.
const quietFor = 2 * clock.Second

// NewProgress starts to count the steps of work such as "measuring songs". A nil
// Progress shows nothing.
func NewProgress(to io.Writer, what string, total int, now func() clock.Time) *Progress {
	p := &Progress{to: to, what: what, total: max(1, total), now: now, lineAt: now()}
	if _, ok := Screen(to); ok {
		p.bar = progressbar.NewOptions(p.total,
			progressbar.OptionSetWriter(to), progressbar.OptionSetDescription(what),
			progressbar.OptionSetWidth(30), progressbar.OptionSetElapsedTime(false), progressbar.OptionSetPredictTime(false),
			progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish(), showCount(p.total))
	}
	return p
}

// longWork is from how many steps on a percent may take minutes: tenths are shown then.
const longWork = 10_000

// showCount has the bar show the steps themselves where a percent may take minutes.
func showCount(total int) progressbar.Option {
	if total >= longWork {
		return progressbar.OptionShowCount()
	}
	return func(*progressbar.ProgressBar) {}
}

// Step counts n steps as done.
func (p *Progress) Step(n int) {
	if p == nil {
		return
	}
	p.At = min(p.total, p.At+n)
	if p.bar != nil {
		_ = p.bar.Set(p.At) // a bar that cannot be drawn stops no work
		return
	}
	if now := p.now(); now-p.lineAt >= quietFor && p.At < p.total {
		p.lineAt, p.printed = now, true
		p.line()
	}
}

// Done clears the bar, or prints the last line, whether or not the work was finished.
func (p *Progress) Done() {
	switch {
	case p == nil:
	case p.bar != nil:
		_ = p.bar.Clear()
	case p.printed && p.At == p.total:
		p.line()
	case p.printed:
		fmt.Fprintf(p.to, "%s: stopped at %s %%\n", p.what, p.percent())
	}
}

func (p *Progress) line() { fmt.Fprintf(p.to, "%s: %s %%\n", p.what, p.percent()) }

// percent is in whole numbers, or in tenths of long work.
func (p *Progress) percent() string {
	tenths := int64(p.At) * 1000 / int64(p.total)
	if p.total < longWork || tenths%10 == 0 {
		return fmt.Sprint(tenths / 10)
	}
	return fmt.Sprintf("%d.%d", tenths/10, tenths%10)
}

// Reader is a file that shows how much of it has been read.
type Reader struct {
	file io.Reader
	*Progress
}

// NewReader reads file and shows progress on to.
func NewReader(to io.Writer, what string, file *os.File) Reader {
	size := 1
	if info, err := file.Stat(); err == nil && info.Mode().IsRegular() {
		size = int(min(info.Size(), 1<<31-1))
	}
	return Reader{file, NewProgress(to, what, size, clock.NewBase().Now)}
}

// Read implements [io.Reader].
func (r Reader) Read(b []byte) (int, error) {
	n, err := r.file.Read(b)
	r.Step(n)
	return n, err
}
