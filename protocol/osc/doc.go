// Package osc reads and writes Open Sound Control 1.0, and carries it by UDP.
//
//	Message ─ AppendTo ─► Sender.Send ─► queue ─► Sender.Run ─► UDP
//	UDP ─► Receiver.Run ─ Parse ─► Element ─ Each ─► Message, in order ─ Match ─► addresses
//
// A packet is a [Message], or a [Bundle] of messages and bundles with a time.
// [Parse] refuses what is too deep, too long or not as the specification says,
// with the numbers. [Match] compares an address pattern with an address in a time
// that grows with their lengths only.
//
// OSC has no safety or security function: every packet that reaches the socket is
// obeyed. A [Receiver] without an address hears this computer only.
//
// Source: Wright, The Open Sound Control 1.0 Specification (2002), cited by its
// section names.
package osc
