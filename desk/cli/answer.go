package cli

import (
	"fmt"
	"io"
	"time"

	"fieldfare/desk/answer"
	"fieldfare/model/unit"
	"fieldfare/plan/dossier"
	"fieldfare/plan/shoot"
)

type answerCmd struct {
	Dir    string      `arg:"" help:"Shoot folder." type:"path"`
	From   *shoot.Date `help:"First date to look for light; 14 days before the shoot where left out."`
	To     *shoot.Date `help:"Last date; 14 days after the shoot where left out."`
	Lost   *unit.Ratio `help:"Share of days that weather costs at this place and season, as in 30%."`
	Output string      `short:"o" help:"Also print it as a PDF of one or two pages." type:"path"`
	Letter bool        `help:"US Letter in place of A4."`
	Force  bool        `help:"Overwrite an existing file."`
}

// aroundDays is how far around the shoot light is looked for.
const aroundDays = 14

func (c *answerCmd) Run(s *Session) error {
	if c.Output != "" {
		if err := vacant(c.Output, c.Force); err != nil {
			return err
		}
	}
	lost := -1.0
	if c.Lost != nil {
		if lost = float64(*c.Lost); lost < 0 || lost > 0.9 {
			return fmt.Errorf("--lost %s: expected a share of days from 0 to 90 %% with its percent sign, as in --lost 30%%", *c.Lost)
		}
	}
	p, err := planAll(s.Context, c.Dir)
	if err != nil {
		return err
	}
	d, err := dossier.Write(s.Context, p.assessor, p.check)
	if err != nil {
		return err
	}
	dates := p.assessor.Shoot.Dates
	o := answer.Options{From: shift(dates[0], -aroundDays), To: shift(dates[len(dates)-1], aroundDays), Lost: lost,
		Progress: func(slate string, done, all int) {
			if f := progressOn(s.Err, slate); f != nil {
				f(done, all)
			}
		}}
	if c.From != nil {
		o.From = *c.From
	}
	if c.To != nil {
		o.To = *c.To
	}
	a, err := answer.Compose(s.Context, p.assessor, p.check, p.sheet, d, o)
	if err != nil {
		return err
	}
	if c.Output != "" {
		pdf, err := a.Print(p.assessor.Shoot, p.source, Version, c.Letter)
		if err != nil {
			return err
		}
		if err := shoot.Save(c.Output, pdf); err != nil {
			return err
		}
		fmt.Fprintln(s.Err, c.Output)
	}
	return s.emit(a, func(w io.Writer) { a.Text(w) })
}

// shift moves a date by days.
func shift(d shoot.Date, days int) shoot.Date {
	return shoot.DateOf(d.Midnight(time.UTC).AddDate(0, 0, days))
}
