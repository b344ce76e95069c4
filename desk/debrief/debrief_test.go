package debrief_test

import (
	"testing"
	"time"

	"fieldfare/desk/debrief"
	"fieldfare/desk/logbook"
)

var off = time.Date(2026, 9, 22, 9, 0, 0, 0, time.UTC)

func standing(bodies ...logbook.Body) (all []logbook.Standing) {
	for _, b := range bodies {
		all = append(all, logbook.Standing{Fact: b})
	}
	return all
}

func sortie(ref string, minutes int, slates ...string) *logbook.Sortie {
	at := off.Add(time.Duration(minutes) * time.Minute)
	return &logbook.Sortie{Sortie: ref, TakeOff: at, Landing: at.Add(10 * time.Minute), Slates: slates}
}

// A take written in the field names no sortie: it goes to the one that was in the air with its slate, and to
// none where two could have flown it.
func TestTakesFindTheirSortie(t *testing.T) {
	take := func(ref, slate string, minutes int) *logbook.Take {
		return &logbook.Take{Sortie: ref, Slate: slate, Take: 1, From: off.Add(time.Duration(minutes) * time.Minute)}
	}
	all := debrief.Sorties(standing(
		sortie("1", 0), sortie("2", 20, "4B"), sortie("3", 25, "2C"), sortie("4", 40), sortie("5", 45),
		take("", "4B", 5), take("", "4B", 15), take("", "4B", 26), take("", "2C", 26), take("", "1A", 26), take("", "1A", 46), take("5", "1A", 0),
		&logbook.Take{Slate: "9", Take: 1}, &logbook.Flown{Sortie: "3", Name: "a.gpx"}))
	want := []int{1, 1, 1, 0, 1} // at 46 min both the fourth and the fifth were up
	for i, s := range all {
		if len(s.Takes) != want[i] || (s.Recording != nil) != (i == 2) {
			t.Errorf("sortie %s: %d takes, want %d; recording %v", s.Logged.Sortie, len(s.Takes), want[i], s.Recording)
		}
	}
	if all[1].Takes[0].Slate != "4B" || all[2].Takes[0].Slate != "2C" {
		t.Error("takes went to the wrong sortie")
	}
}

func TestPeople(t *testing.T) {
	got := debrief.People(standing(&logbook.Sortie{Pilot: "Maud"}, &logbook.Hours{Person: "Ben", Role: "operator"}, &logbook.Hours{Person: "Cai", Role: "pilot"}, &logbook.Practice{Person: "Maud"}), "Ada", " ", "Cai")
	if len(got) != 3 || got[0] != "Ada" || got[1] != "Cai" || got[2] != "Maud" {
		t.Error(got)
	}
}
