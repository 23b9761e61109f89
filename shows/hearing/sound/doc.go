// Package sound reads recordings: WAV, FLAC, MP3, Ogg Vorbis and Ogg Opus, told apart by
// their first octets. What it hands out begins with the first sample that was recorded:
// the silence that an MP3 encoder puts before it is taken off.
//
//	file ── Read ──► blocks of samples, a slice each channel, -1..1 ──► whoever measures
//	                 blocks ── Resampler ──► one channel, 22,050 samples a second
//
// Sources: WAV by Microsoft's "Multiple channel audio data and WAVE files" and EBU Tech
// 3306 (RF64); the Info frame of MP3 files by the layout that encoders write, which has no
// standard (common practice, no source); FLAC by RFC 9639, Opus in Ogg by RFC 7845, both
// through libraries.
package sound
