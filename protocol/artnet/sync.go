package artnet

// ArtSync makes nodes output the data that they hold:
//
//	 0 12  head  OpCode 0x5200
//	12  1  Aux1  0
//	13  1  Aux2  0
const syncLen = 14

// Sync is an ArtSync packet.
type Sync struct {
	Aux1, Aux2 uint8 // sent as 0
}

// AppendTo appends the packet, 14 octets.
func (s *Sync) AppendTo(b []byte) []byte {
	return append(appendHead(b, OpSync), s.Aux1, s.Aux2)
}

// Parse reads b. Errors: ErrShort, ErrID, ErrOpCode, ErrVersion; on an error s does
// not change.
func (s *Sync) Parse(b []byte) error {
	if err := parseHead(b, OpSync, syncLen); err != nil {
		return err
	}
	*s = Sync{Aux1: b[12], Aux2: b[13]}
	return nil
}
