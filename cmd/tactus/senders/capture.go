package senders

import (
	"net/netip"

	"tactus/engine"
	"tactus/protocol/artnet"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
	"tactus/shows"
)

// Capture makes the senders of a show's universes that hand their packets to
// take instead of sending them.
func Capture(o *shows.Outputs, f *Options, cid [16]byte, take func(to netip.AddrPort, packet []byte)) ([]engine.Output, error) {
	universes, err := targets(o.Universes, f)
	if err != nil {
		return nil, err
	}
	var list []engine.Output
	if c := sacnConfig(o, universes, f); len(c.Universes) > 0 {
		c.Spread = 0 // a captured frame has one time
		c.CID, c.Open = cid, func() (udp.Conn, error) { return udp.Capture(take), nil }
		s, err := sacn.NewSender(c)
		if err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	if c := artNetConfig(o, universes, f); len(c.Universes) > 0 {
		c.Spread = 0
		s, err := artnet.Capture(c, take)
		if err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	return list, nil
}

// Addresses lists the addresses that packets would go to, except for multicast that is
// sent by a named interface.
func Addresses(o *shows.Outputs, f *Options) (list []string) {
	targets, err := targets(o.Universes, f)
	if err != nil {
		return nil
	}
	for _, t := range targets {
		for _, to := range t.to {
			list = append(list, to.Addr().String())
		}
		if t.Protocol == shows.SACN && t.Multicast && o.SACN.Interface == "" {
			list = append(list, "239.255.0.1") // E1.31-2018 9.3.1
		}
	}
	return list
}
