package language

import (
	"fmt"
	"strconv"

	yaml "go.yaml.in/yaml/v4"
)

// PortAddress returns the Port-Address of an Art-Net universe, 0 to 32767, as Net,
// Sub-Net and Universe, such as 0.0.1. Source: Art-Net 4, Universe addressing: the Net
// is its bits 14 to 8, the Sub-Net bits 7 to 4, the Universe bits 3 to 0.
func PortAddress(number int) string {
	return fmt.Sprintf("%d.%d.%d", number>>8&0x7f, number>>4&0xf, number&0xf)
}

// writtenUniverse is a universe as a rig file has it, unchecked.
type writtenUniverse struct{ name, key, number string }

// String names its protocol and number: "sACN 1", "Art-Net 0.0.1", "virtual".
func (u *writtenUniverse) String() string {
	switch u.key {
	case "sacn":
		return "sACN " + Shorten(u.number)
	case "art-net":
		if n, err := strconv.ParseUint(u.number, 10, 15); err == nil {
			return "Art-Net " + PortAddress(int(n))
		}
		return "Art-Net " + Shorten(u.number)
	}
	return "virtual"
}

// universesOf returns the universes of a rig file.
func universesOf(root *yaml.Node) (list []writtenUniverse) {
	all := entryOf(root, "universes")
	if all == nil || all.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(all.Content); i += 2 {
		u := writtenUniverse{name: all.Content[i].Value}
		for _, key := range []string{"sacn", "art-net"} {
			if n := entryOf(all.Content[i+1], key); n != nil && n.Kind == yaml.ScalarNode {
				u.key, u.number = key, n.Value
			}
		}
		list = append(list, u)
	}
	return list
}

// entryOf returns the value of a key in a mapping, or nil.
func entryOf(n *yaml.Node, key string) *yaml.Node {
	if n == nil || n.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return n.Content[i+1]
		}
	}
	return nil
}
