package journal

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"tactus/engine"
)

// ErrCut means that the file ends in the middle of a line, as after a power cut.
// The lines before it are whole.
var ErrCut = errors.New("journal: cut off in the middle of a line")

// maxLineBytes is the longest line that is read. Written lines have some hundred
// bytes, except for names in the head.
const maxLineBytes = 8192

// Reader reads a journal from its head on.
type Reader struct {
	Header Header
	lines  *bufio.Reader
	line   int
}

// NewReader reads the head. Errors: ErrHeader, ErrCut, those of r.
func NewReader(r io.Reader) (*Reader, error) {
	j := &Reader{lines: bufio.NewReaderSize(r, maxLineBytes)}
	for {
		line, err := j.nextLine()
		switch {
		case errors.Is(err, io.EOF):
			return nil, fmt.Errorf("%w: it ends at line %d", ErrHeader, j.line)
		case err != nil:
			return nil, err
		case j.line == 1 && line != firstLine:
			return nil, fmt.Errorf("%w: line 1 is %.40q, want %q", ErrHeader, line, firstLine)
		case j.line == 1:
		case line == "":
			return j, nil
		default:
			if err := j.Header.parseLine(line); err != nil {
				return nil, fmt.Errorf("line %d: %w", j.line, err)
			}
		}
	}
}

// Next reads the next record. Errors: io.EOF after the last whole line, ErrCut in the
// middle of a line, ErrLine for a line that is not a record, those of the file.
func (j *Reader) Next() (engine.Record, error) {
	line, err := j.nextLine()
	if err != nil {
		return engine.Record{}, err
	}
	r, err := ParseRecord(line)
	if err != nil {
		return r, fmt.Errorf("line %d: %w", j.line, err)
	}
	return r, nil
}

// Line returns the number of the last line, from 1.
func (j *Reader) Line() int { return j.line }

func (j *Reader) nextLine() (string, error) {
	b, err := j.lines.ReadSlice('\n')
	if len(b) > 0 || err == nil {
		j.line++
	}
	switch {
	case err == nil:
		return string(b[:len(b)-1]), nil
	case errors.Is(err, bufio.ErrBufferFull):
		return "", fmt.Errorf("line %d: %w: longer than %d bytes", j.line, ErrLine, maxLineBytes)
	case errors.Is(err, io.EOF) && len(b) > 0:
		return "", fmt.Errorf("line %d: %w", j.line, ErrCut)
	}
	return "", err
}
