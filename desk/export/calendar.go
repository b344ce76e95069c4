package export

import (
	"fmt"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"
)

// calendar writes the day: sorties, breaks, charging, and the crew's call and wrap. Stamps are the
// shoot's own, so that equal shoots give equal files.
func (c *Content) calendar() ([]byte, error) {
	cal := ics.NewCalendar()
	cal.SetMethod(ics.MethodPublish)
	cal.SetProductId("-//fieldfare//" + c.Version + "//EN")
	cal.SetName(c.Assessor.Shoot.Title)
	site := c.Assessor.Shoot.Site
	place := fmt.Sprintf("%s, %s", site.Name, site.Origin)
	add := func(id string, from, to time.Time, title, words, where string) {
		e := cal.AddEvent(id + "@" + c.dated().Format("20060102") + ".fieldfare")
		e.SetDtStampTime(c.dated())
		e.SetStartAt(from)
		e.SetEndAt(to)
		e.SetSummary(title)
		e.SetDescription(strings.TrimSpace(words + " " + safety))
		e.SetLocation(where)
	}
	for _, d := range c.Sheet.Days {
		if len(d.Sorties) > 0 {
			add("day-"+d.Date, d.Call, d.Wrap, c.Assessor.Shoot.Title+": call to wrap", fmt.Sprintf("%d sorties.", len(d.Sorties)), place)
		}
		for n, s := range d.Sorties {
			var slates, parts []string
			for _, x := range s.Slates {
				slates = append(slates, x.Slate)
				parts = append(parts, fmt.Sprintf("%s %s to %s", x.Slate, x.Start.Format("15:04"), x.End.Format("15:04")))
			}
			add(fmt.Sprintf("sortie-%s-%d", d.Date, n+1), s.Start, s.End, fmt.Sprintf("Sortie %d: %s", n+1, strings.Join(slates, ", ")),
				fmt.Sprintf("%s. Rig %s, %s, %s, pack %s. Latest take-off %s.", strings.Join(parts, "; "), s.Rig, s.Lens, s.Filter, s.Pack, s.Latest.Format("15:04")), s.Launch+", "+place)
		}
		for n, b := range d.Breaks {
			add(fmt.Sprintf("break-%s-%d", d.Date, n+1), b.Start, b.End, b.What, "", place)
		}
		for n, b := range d.Charges {
			add(fmt.Sprintf("charge-%s-%d", d.Date, n+1), b.Start, b.End, "Charge pack "+b.Pack, "On "+b.Charger+".", place)
		}
	}
	for _, x := range c.Check.Slates {
		for n, w := range x.LightOK {
			title := x.Slate + " window: " + x.Title
			if x.Barred {
				title = x.Slate + " STOP, light only: " + x.Title
			}
			add(fmt.Sprintf("window-%s-%d", x.Slate, n+1), w.From, w.To, title, fmt.Sprintf("Begins: %s. Ends: %s.", w.Begins, w.Ends), place)
		}
	}
	return []byte(cal.Serialize(ics.WithNewLineWindows)), nil
}
