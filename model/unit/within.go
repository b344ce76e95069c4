package unit

import "fmt"

// Within returns an error that names the quantity, its value and the range low to high when
// v is not in it; NaN is in no range. v, low and high are in the unit with the given symbol,
// which may be empty.
func Within(what string, v, low, high float64, symbol string) error {
	if v >= low && v <= high {
		return nil
	}
	if symbol != "" {
		symbol = " " + symbol
	}
	return fmt.Errorf("%s is %g%s: %g to %g%s is expected", what, v, symbol, low, high, symbol)
}
