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
// Art-Net has no packet that ends a stream. After Close a node holds its last
// levels or, after its own delay, does what it is set to do on loss of data. To
// end with other levels, send them before Close.
//
// Sources: Art-Net 4 packet definitions (ArtDmx, ArtPoll, ArtPollReply,
// ArtSync), with the worked packets in testdata/reference/packets. Where
// editions differ, the code takes the more lenient one and says so.
package artnet
