package assess

import (
	"slices"
	"strings"

	"fieldfare/plan/rule"
)

const (
	supplyPeople = "mark where people may be, with kind people"
	supplyWind   = "enter wind and gusts in the forecast"
	supplyRadio  = "add radio: to the rig"
	supplySight  = "enter visibility in the forecast"
	supplyAreas  = "draw the areas that matter, with their status, as kind area"
)

// supply says where the shoot folder tells what a fact rests on.
var supply = map[string]string{
	"airspeed":                     supplyWind,
	"battery_reserve":              supplyWind + ", and the packs' capacity",
	"buffer_clear_of_people":       supplyPeople,
	"class_label":                  "add class: to the airframe",
	"closed_site":                  "say closed: yes or no under site:",
	"controlled_airspace":          supplyAreas,
	"distance_to_crew":             "mark where cast and crew stand, with kind set",
	"distance_to_performers":       "mark where performers work, with kind stunt, or say stunts: no",
	"distance_to_uninvolved":       supplyPeople,
	"distance_to_uninvolved_share": supplyPeople,
	"fresnel_clearance":            supplyRadio,
	"ground_risk_class":            "add people: (people per km2) to site:",
	"gust_share":                   supplyWind,
	"impact_energy":                supplyWind,
	"insured":                      "add insurance: to the rig",
	"line_of_sight":                "extend the elevation grid between pilot and path",
	"line_of_sight_share":          supplySight,
	"link_margin":                  supplyRadio,
	"obstacle_clearance":           "enter buildings, trees and wires among the site's features",
	"out_of_bounds_airspace":       supplyAreas,
	"over_people":                  supplyPeople,
	"people_density":               "add people: (people per km2) to site:",
	"pilot_certified":              "enter certificates: for the pilot",
	"radiated_power":               supplyRadio,
	"radio_frequency":              supplyRadio,
	"registered":                   "add mark: to the rig",
	"temperature":                  "enter temperature in the forecast",
	"terrain_clearance":            "extend the elevation grid under the path",
	"video_margin":                 supplyRadio,
	"visibility":                   "enter visibility in the forecast",
	"water_below":                  "name a file of features under site:",
	"wind_share":                   supplyWind,
	"wires_near":                   "name a file of features under site:",
}

// mendOf is how to meet a rule, or, where facts are missing, where to enter them.
func mendOf(r rule.Result) string {
	if r.Outcome != rule.Unknown {
		return r.Mend
	}
	var words []string
	for _, fact := range r.Missing {
		if w := Supply(fact); !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	return strings.Join(words, "; ")
}

// Supply says which entry of the shoot folder tells a fact.
func Supply(fact string) string {
	if w, ok := supply[fact]; ok {
		return w
	}
	return "say {fact: " + fact + ", is: …} under stated:"
}
