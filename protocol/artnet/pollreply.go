package artnet

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"net/netip"
)

// ArtPollReply describes a node. It carries no ProtVer.
//
//	  0  8 ID             178 4 GoodInput           211  1 BindIndex
//	  8  2 OpCode 0x2100  182 4 GoodOutputA         212  1 Status2
//	 10  4 IP             186 4 SwIn                213  4 GoodOutputB
//	 14  2 Port    LE     190 4 SwOut               217  1 Status3
//	 16  2 VersInfo       194 1 AcnPriority         218  6 DefaultRespUID
//	 18  1 NetSwitch      195 1 SwMacro             224  2 User
//	 19  1 SubSwitch      196 1 SwRemote            226  2 RefreshRate
//	 20  2 Oem            197 3 spare               228  1 BackgroundQueuePolicy
//	 22  1 Ubea           200 1 Style               229 10 filler
//	 23  1 Status1        201 6 MAC
//	 24  2 EstaMan LE     207 4 BindIp
//	 26 18 short name,  44 64 long name,  108 64 report: each ends with a zero
//	172  2 NumPorts       174 4 PortTypes
//
// LE is low octet first, all else high octet first. Some editions require
// 207 octets, others 198; missing ones count as zero.
const (
	replyMin = 198
	replyLen = 239
)

// Style is the kind of device.
type Style uint8

// The styles used here; others are 2 media server, 3 router, 4 backup, 5
// configuration tool, 6 visualiser.
const (
	StyleNode       Style = 0
	StyleController Style = 1
)

// The kinds of a port, in PollReply.PortTypes.
const (
	PortOutput uint8 = 0x80 // outputs data from the network
	PortInput  uint8 = 0x40 // sends data to the network
)

// PollReply is an ArtPollReply packet.
type PollReply struct {
	Addr             netip.Addr // IPv4; the unspecified address is sent for anything else
	Port             uint16     // 6454
	Firmware         uint16
	Net              uint8 // Port-Address bits 14..8 of all its ports
	Sub              uint8 // bits 7..4
	OEM              uint16
	UBEA             uint8
	Status1          uint8
	ESTA             uint16
	ShortName        string // 17 octets at most
	LongName         string // 63
	Report           string // 63, as "#0001 [0042] text"
	NumPorts         uint16 // 0..4
	PortTypes        [4]uint8
	GoodInput        [4]uint8
	GoodOutputA      [4]uint8
	SwIn             [4]uint8 // Port-Address bits 3..0 of each input
	SwOut            [4]uint8 // and of each output
	ACNPriority      uint8    // 0..200
	SwMacro          uint8
	SwRemote         uint8
	Style            Style
	MAC              [6]byte
	BindAddr         netip.Addr // of the root device
	BindIndex        uint8      // 1 = root; 0 means the same
	Status2          uint8      // bit 3: 15-bit Port-Addresses
	GoodOutputB      [4]uint8
	Status3          uint8
	DefaultUID       [6]byte
	User             uint16
	RefreshRate      uint16 // Hz; up to 44 all mean 44
	BackgroundPolicy uint8
}

// AppendTo appends the packet, 239 octets; it cuts names that are too long.
func (p *PollReply) AppendTo(b []byte) []byte {
	var f [replyLen]byte
	copy(f[:], packetID)
	binary.LittleEndian.PutUint16(f[offOpCode:], uint16(OpPollReply))
	putAddr(f[10:14], p.Addr)
	binary.LittleEndian.PutUint16(f[14:], p.Port)
	binary.BigEndian.PutUint16(f[16:], p.Firmware)
	f[18], f[19] = p.Net, p.Sub
	binary.BigEndian.PutUint16(f[20:], p.OEM)
	f[22], f[23] = p.UBEA, p.Status1
	binary.LittleEndian.PutUint16(f[24:], p.ESTA)
	copy(f[26:43], p.ShortName)
	copy(f[44:107], p.LongName)
	copy(f[108:171], p.Report)
	binary.BigEndian.PutUint16(f[172:], p.NumPorts)
	copy(f[174:], p.PortTypes[:])
	copy(f[178:], p.GoodInput[:])
	copy(f[182:], p.GoodOutputA[:])
	copy(f[186:], p.SwIn[:])
	copy(f[190:], p.SwOut[:])
	f[194], f[195], f[196] = p.ACNPriority, p.SwMacro, p.SwRemote
	f[200] = uint8(p.Style)
	copy(f[201:], p.MAC[:])
	putAddr(f[207:211], p.BindAddr)
	f[211], f[212] = p.BindIndex, p.Status2
	copy(f[213:], p.GoodOutputB[:])
	f[217] = p.Status3
	copy(f[218:], p.DefaultUID[:])
	binary.BigEndian.PutUint16(f[224:], p.User)
	binary.BigEndian.PutUint16(f[226:], p.RefreshRate)
	f[228] = p.BackgroundPolicy
	return append(b, f[:]...)
}

// Parse reads b. Errors: ErrShort, ErrID, ErrOpCode; on an error p does not change.
func (p *PollReply) Parse(b []byte) error {
	op, err := OpCodeOf(b)
	if err != nil {
		return err
	}
	if op != OpPollReply {
		return fmt.Errorf("%w: have 0x%04X, need 0x%04X", ErrOpCode, uint16(op), uint16(OpPollReply))
	}
	if len(b) < replyMin {
		return fmt.Errorf("%w: have %d, need %d", ErrShort, len(b), replyMin)
	}
	var f [replyLen]byte
	copy(f[:], b)
	*p = PollReply{
		Addr:     netip.AddrFrom4([4]byte(f[10:])),
		Port:     binary.LittleEndian.Uint16(f[14:]),
		Firmware: binary.BigEndian.Uint16(f[16:]),
		Net:      f[18], Sub: f[19],
		OEM:  binary.BigEndian.Uint16(f[20:]),
		UBEA: f[22], Status1: f[23],
		ESTA:      binary.LittleEndian.Uint16(f[24:]),
		ShortName: text(f[26:43]), LongName: text(f[44:107]), Report: text(f[108:171]),
		NumPorts:  binary.BigEndian.Uint16(f[172:]),
		PortTypes: [4]byte(f[174:]), GoodInput: [4]byte(f[178:]), GoodOutputA: [4]byte(f[182:]),
		SwIn: [4]byte(f[186:]), SwOut: [4]byte(f[190:]),
		ACNPriority: f[194], SwMacro: f[195], SwRemote: f[196],
		Style: Style(f[200]), MAC: [6]byte(f[201:]),
		BindAddr:  netip.AddrFrom4([4]byte(f[207:])),
		BindIndex: f[211], Status2: f[212],
		GoodOutputB: [4]byte(f[213:]), Status3: f[217], DefaultUID: [6]byte(f[218:]),
		User: binary.BigEndian.Uint16(f[224:]), RefreshRate: binary.BigEndian.Uint16(f[226:]),
		BackgroundPolicy: f[228],
	}
	return nil
}

// Subscribed appends to dst the Port-Addresses that the node subscribes to: by the
// standard, SwOut of its outputs and SwIn of its inputs.
func (p *PollReply) Subscribed(dst []uint16) []uint16 {
	base := uint16(p.Net&0x7f)<<8 | uint16(p.Sub&0xf)<<4
	for i := range min(int(p.NumPorts), len(p.PortTypes)) {
		if p.PortTypes[i]&PortOutput != 0 {
			dst = append(dst, base|uint16(p.SwOut[i]&0xf))
		}
		if p.PortTypes[i]&PortInput != 0 {
			dst = append(dst, base|uint16(p.SwIn[i]&0xf))
		}
	}
	return dst
}

func putAddr(b []byte, a netip.Addr) {
	if a = a.Unmap(); a.Is4() {
		four := a.As4()
		copy(b, four[:])
	}
}

// text returns b up to its first zero.
func text(b []byte) string {
	if i := bytes.IndexByte(b, 0); i >= 0 {
		b = b[:i]
	}
	return string(b)
}
