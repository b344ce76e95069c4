package assess

import (
	"fmt"
	"math"
)

// The words of numbers in findings: as many digits as a person uses.

func metres(v float64) string {
	switch {
	case math.IsInf(v, 1):
		return "infinity"
	case math.Abs(v) < 10:
		return fmt.Sprintf("%.1f m", v)
	case math.Abs(v) < 10000:
		return fmt.Sprintf("%.0f m", v)
	}
	return fmt.Sprintf("%.1f km", v/1000)
}

func kg(v float64) string       { return fmt.Sprintf("%.2f kg", v) }
func speed(v float64) string    { return fmt.Sprintf("%.1f m/s", v) }
func degrees(v float64) string  { return fmt.Sprintf("%.0f deg", v) }
func degrees1(v float64) string { return fmt.Sprintf("%.1f deg", v) }
func wh(j float64) string       { return fmt.Sprintf("%.0f Wh", j/3600) }
func seconds(v float64) string  { return fmt.Sprintf("%.1f s", v) }
func percent(v float64) string  { return fmt.Sprintf("%.0f %%", 100*v) }
func celsius(k float64) string  { return fmt.Sprintf("%.0f C", k-273.15) }
func decibels(v float64) string { return fmt.Sprintf("%.1f dB", v) }
