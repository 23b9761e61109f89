package draw

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCanvasText(t *testing.T) {
	for _, c := range []struct {
		text, want string
		ends       int
	}{
		{"chorus", "chorus", 6},
		{"chorus 2 and more", "chorus 2", 8},
		{"a\x1b[31mb\n", "a·[31mb·", 8},
		{"Cafe\u0301 x", "Cafe x", 6},
		{"港港港港港", "港港港港", 8},
		{"a港港港港", "a港港港", 7},
		{"\xff\xfe", "\ufffd\ufffd", 2},
	} {
		v := newCanvas(8, 1, true)
		v.clear()
		assert.Equal(t, c.ends, v.text(0, 0, 8, []byte(c.text), unset, 0), "%q ends", c.text)
		assert.Equal(t, c.want, strings.TrimSpace(textOf(v.appendTo(nil))), "%q", c.text)
	}
	v := newCanvas(4, 2, false)
	v.clear()
	v.text(-1, 0, 9, []byte("x"), unset, 0)
	v.text(0, 2, 9, []byte("x"), unset, 0)
	v.setCell(4, 0, 'x', unset)
	v.setCell(0, -1, 'x', unset)
	assert.Equal(t, "\n\n", textOf(v.appendTo(nil)), "outside the canvas")
}

// The bytes, by ECMA-48: CUP, SGR 38;2 and 48;2, EL.
func TestCanvasBytes(t *testing.T) {
	v := newCanvas(4, 2, false)
	v.clear()
	v.text(0, 0, 4, []byte("ab"), 0xFF8000, 0)
	v.text(2, 0, 4, []byte("c"), unset, bold)
	v.at(3, 0).bg = 0x010203
	v.text(1, 1, 4, []byte("x"), grey(7), 0)
	want := "\x1b[1;1H\x1b[38;2;255;128;0mab\x1b[1m\x1b[39mc\x1b[0m\x1b[48;2;1;2;3m \x1b[0m" +
		"\x1b[2;1H \x1b[38;2;7;7;7mx\x1b[0m\x1b[K"
	assert.Equal(t, want, string(v.appendTo(nil)))
	v.plain = true
	want = "\x1b[1;1Hab\x1b[1mc\x1b[0m \x1b[2;1H x\x1b[K"
	assert.Equal(t, want, string(v.appendTo(nil)), "without colour")
}

func TestFittingBytes(t *testing.T) {
	for _, c := range []struct {
		text string
		w    int
		want int
	}{{"abc", 2, 2}, {"abc", 9, 3}, {"港港", 3, 3}, {"港", 1, 3}, {"", 4, 0}, {"·x", 1, 2}} {
		assert.Equal(t, c.want, fittingBytes([]byte(c.text), c.w), "fittingBytes(%q, %d)", c.text, c.w)
	}
}

func TestAppendCode(t *testing.T) {
	for v := range 256 {
		assert.Equal(t, strconv.Itoa(v), string(appendCode(nil, uint8(v))))
	}
}
