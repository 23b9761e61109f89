package artnet

// SetSilent stops all data and syncs, or lets them go on: then the levels are sent at
// once. Discovery goes on meanwhile, so that the nodes are known. Art-Net has no
// priorities: of two senders of a universe one has to be silent, or nodes merge them.
// What is left of the last frame leaves first.
func (s *Sender) SetSilent(silent bool) {
	s.sendRest(s.frame.due)
	s.silent = silent
	for i := range s.streams {
		s.streams[i].resend()
	}
}
