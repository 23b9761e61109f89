// Package senders opens the sACN and Art-Net senders of a show's universes, as
// the show and a command line say, under this installation's identity.
//
//	shows.Outputs + Options ──► targets ──► sacn.Sender, artnet.Sender ──► the loop
//	                                   └──► Capture: the same packets, handed over instead of sent
//
// Sources: ANSI E1.31-2018 (5.6 and 6.2.3: one CID, one source), Art-Net 4.
package senders
