// Package loudness measures how loud a recording is, as ITU-R BS.1770-4 and EBU R 128 say:
// momentary loudness over 400 ms, short-term over 3 s, and integrated loudness through both
// gates, in LUFS. A recording of one channel counts as one channel.
package loudness
