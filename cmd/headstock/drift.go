package main

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"headstock/calendar"
	"headstock/card"
	"headstock/internal/reading"
	"headstock/logbook"
)

func (d *door) drift() *cobra.Command {
	l := &logDoor{door: d}
	var limitText, device, state, on string
	c := &cobra.Command{
		Use: "drift UNIT [QUANTITY]", Args: cobra.RangeArgs(1, 2),
		Short: "where the measures of a unit are going, and when they meet their limit",
		Long: "Fit a line through the readings that the logbook holds of each measure, so that a few wild ones do not bend it, and say on which\n" +
			"day it meets its limit, with an interval. A renewal or a jump begins anew. Without --limit the limit is that of the check in\n" +
			"the class record. With fewer than five readings, or over less than 28 days, the answer is too few readings.\n\n" +
			"Exit status 1: outside its limit at the last reading. 3: nothing can be said.",
		Example: fmt.Sprintf("  headstock drift '%s' --log mine.db\n  headstock drift '%s' 'piston travel' --limit 'at most 125 mm' --log mine.db\n"+
			"  headstock drift '%s' 'block thickness' --limit 'at least 10 mm' --log mine.db", example("unit"), example("unit"), example("unit")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			u, c, err := logbook.Unit(f, args[0])
			if err != nil {
				return exit{2, err.Error()}
			}
			today := calendar.On(time.Now())
			if on != "" {
				if today, err = calendar.Parse(on); err != nil {
					return exit{2, err.Error()}
				}
			}
			var limit *logbook.Limit
			if limitText != "" {
				x, err := logbook.ParseLimit(limitText)
				if err != nil {
					return exit{2, err.Error()}
				}
				limit = &x
			}
			b, err := l.book()
			if err != nil {
				return err
			}
			var rows []card.DriftRow
			var names []string
			for _, s := range logbook.SeriesOf(b.Readings()) {
				if s.Unit != u.Name() || device != "" && s.Device != device || state != "" && s.State != state {
					continue
				}
				names = append(names, s.What)
				if len(args) == 2 && !strings.EqualFold(s.What, args[1]) {
					continue
				}
				row := card.DriftRow{By: "as given"}
				of := limit
				if of == nil {
					row.By = ""
					check, x := logbook.LimitOf(c, s.Key)
					if of = x; check != nil {
						row.By = fmt.Sprintf("class record %s, check of %s at %s: %s", c.Name, check.What, check.Device, check.Limit.Text)
					}
				}
				row.Drift = logbook.DriftOf(s, of)
				if of == nil {
					for _, x := range logbook.LimitsAt(c, s.Device, row.Measure) {
						row.Perhaps = append(row.Perhaps, fmt.Sprintf("%s: %s", x.What, x.Limit.Text))
					}
				}
				rows = append(rows, row)
			}
			if len(args) == 2 && len(rows) == 0 && len(names) > 0 {
				return bad("the logbook holds no %q of %s; it holds %s%s", args[1], u.Name(), strings.Join(slices.Compact(slices.Sorted(slices.Values(names))), ", "), reading.Hint(args[1], names))
			}
			if d.json {
				if rows == nil {
					rows = []card.DriftRow{}
				}
				err = d.printJSON(struct {
					Caution string          `json:"caution"`
					Unit    string          `json:"unit"`
					On      calendar.Date   `json:"on"`
					Drifts  []card.DriftRow `json:"drifts"`
				}{card.Caution, u.Name(), today, rows})
			} else {
				err = d.print(card.Drifts(u.Name(), rows, today, d.u()))
			}
			if err != nil {
				return err
			}
			answered := false
			for _, r := range rows {
				switch r.Outcome {
				case logbook.Outside:
					return exit{code: 1}
				case logbook.TooFew, logbook.NoLimit, logbook.Unrelated:
				default:
					answered = true
				}
			}
			if !answered {
				return exit{code: 3}
			}
			return nil
		},
	}
	c.Flags().StringVar(&l.file, "log", os.Getenv("HEADSTOCK_LOG"), "file of the logbook (also HEADSTOCK_LOG); absent: logbook.db in the folder of --fleet")
	c.Flags().StringVar(&limitText, "limit", "", "limit: 'at most 125 mm', 'at least 10 mm', '80 mm to 125 mm'; absent: that of the class record's check")
	c.Flags().StringVar(&device, "device", "", "of this device only")
	c.Flags().StringVar(&state, "state", "", "read in this state only")
	c.Flags().StringVar(&on, "date", "", "the day to answer for, 2026-10-03; absent: today")
	return c
}
