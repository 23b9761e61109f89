package shows

import "math"

// linear undoes the transfer function of sRGB (IEC 61966-2-1, equations 5 and
// 6): files give colours as screens show them, the engine counts in light.
func linear(c float64) float64 {
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}
