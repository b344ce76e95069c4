package rule

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
)

// stateable are the quantities that nothing computes: a crew may state them. What is computed cannot be
// stated, so that no statement hides a number.
var stateable = []string{
	"low_speed_mode", "follow_mode", "distance_to_assembly", "distance_to_built_up", "over_people_category",
	"exposed_rotors", "anti_collision_light", "remote_identified", "focus_motor_fitted", "power_control",
	"height_above_structure", "height_of_structure", "distance_to_structure",
}

// Stateable returns the quantities that a crew may state, in alphabetical order.
func Stateable() []string {
	names := slices.Clone(stateable)
	sort.Strings(names)
	return names
}

// State reads what a crew states of a quantity: "yes" or "no", a name, or a number with its unit. It errs
// for a quantity that is computed or that does not exist.
func State(quantity, text string) (Value, error) {
	q, known := Quantities[quantity]
	if !known {
		return Value{}, fmt.Errorf("%q is not a quantity%s", quantity, suggest(quantity))
	}
	if !slices.Contains(stateable, quantity) {
		return Value{}, fmt.Errorf("%s is computed and cannot be stated", words(quantity))
	}
	text = strings.TrimSpace(text)
	switch q.Kind {
	case YesNo:
		switch strings.ToLower(text) {
		case "yes", "true":
			return Is(true), nil
		case "no", "false":
			return Is(false), nil
		}
		return Value{}, fmt.Errorf("%q: write yes or no", text)
	case Choice:
		if text == "" {
			return Value{}, fmt.Errorf("%s needs a name", words(quantity))
		}
		return Named(text), nil
	case List:
		return Value{}, fmt.Errorf("%s is a list and cannot be stated", words(quantity))
	}
	v, err := measures[q.Kind].parse(text)
	if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
		err = fmt.Errorf("%q is not finite", text)
	}
	if err != nil {
		return Value{}, err
	}
	return Of(v), nil
}
