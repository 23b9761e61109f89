package osc

import "time"

// TimeTag is NTP time: seconds since 1900-01-01 UTC in the upper 32 bits, and
// 1/2³² of a second in the lower (OSC 1.0, Temporal Semantics and OSC Time
// Tags). It counts to 2036.
type TimeTag uint64

// Immediately is the special value 1: as soon as it is received.
const Immediately TimeTag = 1

// ntpToUnix is the seconds from 1900 to 1970 (RFC 868).
const ntpToUnix = 2_208_988_800

// TimeTagOf returns t, to the nearest 1/2³² s.
func TimeTagOf(t time.Time) TimeTag {
	fraction := (uint64(t.Nanosecond())<<32 + 500_000_000) / 1_000_000_000
	return TimeTag(uint64(t.Unix()+ntpToUnix)<<32 + fraction)
}

// Time returns the moment in UTC, to the nearest nanosecond.
func (t TimeTag) Time() time.Time {
	nanos := (uint64(uint32(t))*1_000_000_000 + 1<<31) >> 32
	return time.Unix(int64(t>>32)-ntpToUnix, int64(nanos)).UTC()
}
