package lesson_test

import (
	"fmt"

	"fieldfare/desk/lesson"
)

func ExampleDurations() {
	p, err := lesson.Durations("setup_time_s", "crew", 480, []float64{520, 610, 545, 580, 700, 560})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("old %.0f s, new %.0f s (%.0f to %.0f), plan for %.0f s, changed: %v\n", p.Old, p.New, p.Low, p.High, p.PlanFor, p.Changed)
	// Output: old 480 s, new 583 s (522 to 651), plan for 689 s, changed: true
}
