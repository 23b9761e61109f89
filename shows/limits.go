package shows

import "tactus/shows/limits"

// judge reads the limits that the show adjusts.
func (c *compiler) limits() (set limits.Set) {
	v := c.show.Get("judge")
	for k := range limits.NumLimits {
		if own := v.Get(limits.Table()[k].Name); own != nil {
			set.Adjust(k, own.Fraction(limits.Table()[k].Default))
		}
	}
	return set
}
