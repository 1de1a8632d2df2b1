package main

import (
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/prove"
	"headstock/rule"
	"headstock/trial"
)

func (d *door) judge() *cobra.Command {
	return d.onConsist(&cobra.Command{
		Use: "judge CONSIST FILE", Args: cobra.ExactArgs(2),
		Short:   "hold readings from a CSV file (step,unit,device,value) against the brake test",
		Example: fmt.Sprintf("  headstock judge '%s' readings.csv", example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, args []string) error {
		entries, err := entered(args[0])
		if err != nil {
			return err
		}
		p, err := prove.Prove(c, r, trial.Conditions{})
		if err != nil {
			return err
		}
		js, err := prove.Judge(p, r, entries)
		if err != nil {
			return bad("%s: %v", args[0], err)
		}
		if d.json {
			if err := d.printJSON(js); err != nil {
				return err
			}
		} else if err := d.print(card.Judged(p, js, r, d.u())); err != nil {
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
}

// entered reads a file of readings; the first row names the columns.
func entered(name string) ([]prove.Entered, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, exit{2, err.Error()}
	}
	defer f.Close()
	cr := csv.NewReader(f)
	cr.TrimLeadingSpace = true
	cr.Comment = '#'
	cr.FieldsPerRecord = -1
	var out []prove.Entered
	first := true
	for {
		row, err := cr.Read()
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, bad("%s: %v", name, err)
		}
		line, _ := cr.FieldPos(0)
		if first {
			first = false
			if strings.EqualFold(strings.Join(row, ","), "step,unit,device,value") {
				continue
			}
			return nil, bad("%s:%d: expected the columns step,unit,device,value, found %s", name, line, strings.Join(row, ","))
		}
		if len(row) != 4 {
			return nil, bad("%s:%d: expected 4 columns, found %d", name, line, len(row))
		}
		out = append(out, prove.Entered{Line: line, Step: strings.TrimSpace(row[0]), Unit: strings.TrimSpace(row[1]), Device: strings.TrimSpace(row[2]), Value: strings.TrimSpace(row[3])})
	}
}
