package rule_test

import (
	"fmt"

	"fieldfare/plan/rule"
)

func ExampleEvaluate() {
	p, err := rule.Find(rule.Examples(), "eu-open-a2")
	if err != nil {
		fmt.Println(err)
		return
	}
	facts := rule.Facts{"distance_to_uninvolved": rule.Of(12.0), "low_speed_mode": rule.Is(false), "height_above_ground": rule.Of(40.0)}
	for _, r := range rule.Evaluate(p, facts) {
		switch r.Rule {
		case "distance", "height", "registration":
			fmt.Printf("%s: %v; %s\n", r.What, r.Outcome, r.Value)
		}
	}
	// Output:
	// Level distance to people who take no part: broken; distance to uninvolved 12 m, low speed mode no
	// Height above the closest point of the surface: met; height above ground 40 m
	// Registered operator: unknown; registered unknown
}
