// Package sacn sends and receives DMX512 data over a network as streaming ACN.
//
//	[]dmx.Universe                                   datagrams
//	      │ Sender.Send, once a frame                    │ Receiver.Run
//	      ▼                                              ▼
//	   stream: due? sequence + 1, patch slots         Parse, or a counted error
//	      │                                              │ Packet
//	      ▼                                              ▼
//	   one batch of DataPackets, a SyncPacket,        Monitor: sources, rates,
//	   a page of universes every 10 s ──► UDP         lost packets
//	                                                  Merger: which source counts,
//	                                                  levels of each universe
//
// The codecs are [DataPacket], [SyncPacket] and [DiscoveryPacket]: AppendTo writes a
// packet, and Parse checks every rule by which the standard discards packets.
// [Sender] continues after errors: it tries every destination, reports the first
// failure, and opens its socket again when the interface comes back. [Monitor]
// and [Merger] read no clock: the caller passes the time.
//
// Streaming ACN has no safety function: it must not drive anything that can hurt
// when a packet is lost or forged (E1.31-2018 clauses 1.3 and 1.4).
//
// Not implemented: IPv6 sockets, RDM, priorities by slot (START code 0xDD, which is not
// part of E1.31).
//
// Sources: ANSI E1.31-2018, cited by clause; ANSI E1.11 for the greatest refresh
// rate; RFC 4122 for the CID. Worked packets: testdata/reference/packets.
package sacn
