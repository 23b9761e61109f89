// Package artnet encodes, parses, sends and receives Art-Net 4 packets.
//
//	[]dmx.Universe ──► Sender.Send(now) ──► ArtDmx, unicast, one socket a node ──► nodes
//	                        │    ▲
//	          a poll is due │    │ nodes found (bounded channel)
//	                        ▼    │
//	                    discovery, port 6454 ◄── ArtPollReply ──────────────────── nodes
//
//	UDP ──► Receiver.Run ──► Packet ──► Monitor ──► levels, rates, losses
//
// Data goes to the nodes that the show patches, whether or not they ever
// answer a poll, and to the nodes that say they listen to a universe. It is
// never broadcast unless a universe asks for it: Art-Net 4 forbids it and
// strict nodes ignore it.
//
// Art-Net has no way to say goodbye. After Close a node holds its last levels,
// or falls back to what it is set to do on loss of data, after its own delay.
// Whoever wants a defined end must send it as levels before Close.
//
// Sources: Art-Net 4 packet definitions (ArtDmx, ArtPoll, ArtPollReply,
// ArtSync), with the worked packets in testdata/reference/packets. Where
// editions differ the more lenient one is accepted and noted beside the code.
package artnet
