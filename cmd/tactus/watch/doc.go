// Package watch listens for sACN and Art-Net and prints what arrives: from whom,
// how often, and its levels, by fixture where a show is known.
//
//	sacn.Receiver ──► sacn.Monitor ──┐
//	artnet.Receiver ► artnet.Monitor ┴──► Arrival ──► text or JSON
package watch
