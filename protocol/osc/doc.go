// Package osc reads and writes Open Sound Control 1.0, and carries it by UDP.
//
//	Message, Bundle ─ AppendTo ─► Sender.Send ─► queue ─► Sender.Run ─► UDP
//	UDP ─► Receiver.Run ─ Parse ─► Element ─ Each ─► Message, in order ─ Match ─► who is meant
//
// A packet is a [Message], or a [Bundle] of messages and bundles with a time.
// [Parse] refuses what is too deep, too long or not as the specification has
// it, with the numbers. [Match] compares an address pattern with an address in
// time that no pattern can blow up.
//
// OSC has no safety or security function: whoever reaches the socket is obeyed.
// A [Receiver] listens on this computer only unless told otherwise.
//
// Source: Wright, The Open Sound Control 1.0 Specification (2002), cited by its
// section names.
package osc
