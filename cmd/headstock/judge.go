package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
	"headstock/web"
)

func (d *door) judge() *cobra.Command {
	var sp study
	cmd := d.onConsist(&cobra.Command{
		Use:     "judge CONSIST FILE",
		Short:   "hold readings from a CSV file (step,unit,device,value) against the brake test",
		Example: fmt.Sprintf("  headstock judge '%s' readings.csv", example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, args []string) error {
		entries, err := entered(args[0])
		if err != nil {
			return err
		}
		p, err := prove.Prove(c, r, trial.Conditions{})
		if err != nil {
			return unproved(err)
		}
		if p.Test == nil {
			return d.untested(p)
		}
		if err := d.study(p, sp); err != nil {
			return err
		}
		js, err := prove.Judge(p, r, entries)
		if err != nil {
			return bad("%s: %v", args[0], err)
		}
		cover := p.Cover(r, js)
		if d.json {
			if err := d.printJSON(web.Judgement{Caution: card.Caution, Consist: c.String(), Readings: js, Complete: cover.Complete(), Asked: cover, Records: web.Records(c), Rules: r.Title, Spread: p.Study, AirModel: p.AirModel}); err != nil {
				return err
			}
		} else if err := d.print(card.Judged(p, js, cover, r, d.u())); err != nil {
			return err
		}
		code := 0
		for _, j := range js {
			switch {
			case j.Status == prove.Outside:
				code = 1
			case j.Status == prove.NoBand && code == 0:
				code = 3
			}
		}
		if code != 0 {
			return exit{code: code}
		}
		return nil
	})
	sp.flags(cmd)
	return cmd
}

// columns are those of a file of readings.
const columns = "step,unit,device,value"

// entered reads a file of readings; the first row names the columns.
func entered(name string) ([]prove.Entered, error) {
	all, err := everyRow(name)
	// a row of the form that nobody filled in is no reading
	return slices.DeleteFunc(all, func(e prove.Entered) bool { return e.Value == "" }), err
}

// everyRow is entered with the rows that nobody filled in.
func everyRow(name string) ([]prove.Entered, error) {
	cr, err := table(name)
	if err != nil {
		return nil, err
	}
	var out []prove.Entered
	first := true
	for {
		row, err := cr.Read()
		switch {
		case err == io.EOF && first:
			return nil, bad("%s:1:1: the table is empty; expected the columns %s, and a row for each reading", name, columns)
		case err == io.EOF:
			return out, nil
		case err != nil:
			return nil, uncut(name, err)
		}
		line, _ := cr.FieldPos(0)
		if first {
			first = false
			if err := headed(name, cr, row, columns); err != nil {
				return nil, err
			}
			continue
		}
		if len(row) != 4 {
			return nil, bad("%s:%d: expected 4 columns, found %d", name, line, len(row))
		}
		for i := range row {
			row[i] = strings.TrimSpace(row[i])
		}
		out = append(out, prove.Entered{Line: line, Step: row[0], Unit: row[1], Device: row[2], Value: row[3]})
	}
}

// writeForm writes a file of readings with the values left empty: each step, unit and
// device that the test reads, and nothing of what is expected, so that what is entered is
// what was read.
func writeForm(name string, p *prove.Proof) error {
	if p.Test == nil {
		return exit{3, "cannot say what is read: there is no brake test to run"}
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(strings.Split(columns, ","))
	for _, r := range p.Test.Readings {
		if r.Fitted == "" {
			w.Write([]string{r.Step, p.Consist.Vehicles[r.Vehicle].Name(), r.Device, ""})
		}
	}
	w.Flush()
	return writeNew(name, b.Bytes())
}
