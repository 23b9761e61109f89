package osc

import (
	"encoding/binary"
	"fmt"
)

// Message is an address, or address pattern, with arguments:
//
//	n  address, from "/", NUL-terminated, padded with NULs to 4 octets
//	n  ",", then a tag for each argument; NUL-terminated, padded to 4
//	n  the arguments, each a multiple of 4 octets
//
// OSC 1.0, OSC Messages.
type Message struct {
	Address string
	Args    []Arg
}

// AppendTo adds the octets of m to b. Arguments with tags that are not in the
// table at [Arg] are left out.
func (m *Message) AppendTo(b []byte) []byte {
	b = appendString(b, m.Address)
	from := len(b)
	b = append(b, ',')
	for i := range m.Args {
		if size(m.Args[i].Tag) >= 0 {
			b = append(b, m.Args[i].Tag)
		}
	}
	b = pad(append(b, 0), from)
	for i := range m.Args {
		a := &m.Args[i]
		switch {
		case a.Tag == 's':
			b = appendString(b, a.Text)
		case a.Tag == 'b':
			b = binary.BigEndian.AppendUint32(b, uint32(len(a.Blob)))
			from := len(b)
			b = pad(append(b, a.Blob...), from)
		case size(a.Tag) == 4:
			b = binary.BigEndian.AppendUint32(b, uint32(a.Bits))
		case size(a.Tag) == 8:
			b = binary.BigEndian.AppendUint64(b, a.Bits)
		}
	}
	return b
}

// appendString adds s up to its first NUL, one NUL, and padding.
func appendString(b []byte, s string) []byte {
	from := len(b)
	for i := 0; i < len(s) && s[i] != 0; i++ {
		b = append(b, s[i])
	}
	return pad(append(b, 0), from)
}

// pad adds NULs until what is after from is a multiple of 4.
func pad(b []byte, from int) []byte {
	for (len(b)-from)%4 != 0 {
		b = append(b, 0)
	}
	return b
}

// Parse reads one message that fills b. A missing type tag string, as older
// senders have it, means no arguments (OSC 1.0, OSC Type Tag String). m keeps
// nothing of b. After an error m is of no use.
func (m *Message) Parse(b []byte) error {
	m.Args = m.Args[:0]
	if len(b)%4 != 0 {
		return fmt.Errorf("%w: have %d", ErrAlign, len(b))
	}
	if len(b) > MaxPacket {
		return fmt.Errorf("%w: have %d octets, at most %d", ErrLong, len(b), MaxPacket)
	}
	address, b, err := cutString(b)
	if err != nil {
		return err
	}
	if err := checkAddress(address); err != nil {
		return err
	}
	m.Address = string(address)
	if len(b) == 0 {
		return nil
	}
	tags, b, err := cutString(b)
	if err != nil {
		return err
	}
	if len(tags) == 0 || tags[0] != ',' {
		return fmt.Errorf("%w: the tags do not begin with a comma", ErrTag)
	}
	if len(tags)-1 > MaxArgs {
		return fmt.Errorf("%w: %d arguments, at most %d", ErrLong, len(tags)-1, MaxArgs)
	}
	for _, tag := range tags[1:] {
		a := Arg{Tag: tag}
		if b, err = a.parse(b); err != nil {
			return err
		}
		m.Args = append(m.Args, a)
	}
	if len(b) > 0 {
		return fmt.Errorf("%w: %d octets after the last argument", ErrLong, len(b))
	}
	return nil
}

// parse reads the value of a and returns what follows it.
func (a *Arg) parse(b []byte) ([]byte, error) {
	need := size(a.Tag)
	switch {
	case need < 0:
		return nil, fmt.Errorf("%w: %q", ErrTag, a.Tag)
	case len(b) < need:
		return nil, fmt.Errorf("%w: argument %q, have %d, need %d", ErrShort, a.Tag, len(b), need)
	case a.Tag == 's':
		text, rest, err := cutString(b)
		a.Text = string(text)
		return rest, err
	case need == 8:
		a.Bits = binary.BigEndian.Uint64(b)
		return b[8:], nil
	case need == 4:
		a.Bits = uint64(binary.BigEndian.Uint32(b))
	}
	if a.Tag != 'b' {
		return b[need:], nil
	}
	length := a.Bits
	a.Bits, b = 0, b[4:]
	padded := (length + 3) &^ 3
	if padded > uint64(len(b)) {
		return nil, fmt.Errorf("%w: blob, have %d, need %d", ErrShort, len(b), padded)
	}
	for _, c := range b[length:padded] {
		if c != 0 {
			return nil, ErrBlob
		}
	}
	a.Blob = append([]byte{}, b[:length]...)
	return b[padded:], nil
}

// cutString takes a padded string off b, whose length is a multiple of 4.
func cutString(b []byte) (s, rest []byte, err error) {
	for n := range b {
		if b[n] != 0 {
			continue
		}
		end := n/4*4 + 4
		if end > len(b) {
			break
		}
		for _, c := range b[n:end] {
			if c != 0 {
				return nil, nil, fmt.Errorf("%w: octet %02X among them", ErrString, c)
			}
		}
		return b[:n], b[end:], nil
	}
	return nil, nil, fmt.Errorf("%w: have %d octets", ErrString, len(b))
}

// checkAddress wants printable ASCII from "/" on, without space and "#" (OSC
// 1.0, OSC Address Spaces); what patterns use is allowed.
func checkAddress(s []byte) error {
	if len(s) == 0 || s[0] != '/' {
		return fmt.Errorf("%w: it does not begin with a slash", ErrAddress)
	}
	for _, c := range s {
		if c <= ' ' || c > '~' || c == '#' {
			return fmt.Errorf("%w: octet %02X", ErrAddress, c)
		}
	}
	return nil
}
