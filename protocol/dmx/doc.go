// Package dmx names a universe and its 512 slots.
//
// Source: ANSI E1.11 (DMX512-A): up to 512 slots of 8 bits follow the START
// code, numbered from 1.
package dmx
