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
// Data goes to the nodes of the show's patch, even if they never answer a poll, and
// to nodes that subscribe to a universe. It is broadcast only for universes
// configured so: Art-Net 4 forbids it and strict nodes ignore it.
//
// Art-Net has no packet that ends a stream. After Close a node holds its last levels
// or, after a delay, follows its own setting for loss of data. To end with other
// levels, send them before Close.
//
// Sources: Art-Net 4 packet definitions (ArtDmx, ArtPoll, ArtPollReply, ArtSync),
// with the worked packets in testdata/reference/packets. Where editions differ, the
// code accepts the more lenient rule, and a comment says so.
package artnet
