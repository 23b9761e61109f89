// Package hearing hears the song in a recording: its tempo, meter, bars and sections, which of
// them are alike, and how strong each is. All of it is a guess that a person corrects.
//
//	file ── sound.Read ──► samples ──► loudness.Meter
//	                         │
//	                      features      log bands, onsets, harmony, 100 times a second
//	                         │
//	  level.go            readings      how long is a beat, what divides it, what is a bar
//	  beats.go, bars.go      │          each beat; the place of each in its bar
//	  sections.go         bars          how bars sound; boundaries; which sections are alike
//	  energy.go, names.go    │          how strong each is, and what it may be called
//	  tempo.go, songfile.go  ▼          as few tempi as explain the bars; a song to be written
//	                       Heard
//
// Nothing here is learned but the weights in level.go, and no model is fetched. Sums are made
// in a fixed order, and products rounded before they are summed, so that the same file gives
// the same song. Decoders and the Fourier transform are libraries, which may round their last
// digits otherwise on other processors.
//
// Sources are named beside each step. The songs it is judged by are made by
// testdata/listening/make_corpus.py, measures as mir_eval defines them (Raffel and others,
// ISMIR 2014).
package hearing
