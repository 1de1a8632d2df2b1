package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/prepare"
)

func (d *door) steps() *cobra.Command {
	return &cobra.Command{
		Use: "steps UNIT|CLASS [PROCEDURE]", Args: cobra.RangeArgs(1, 2),
		Short:   "start, shut down, stable, frost, change ends, take over, hand over: step by step for this unit",
		Example: fmt.Sprintf("  headstock steps '%s'\n  headstock steps '%s' start", example("unit"), example("unit")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			c, u, err := unitOrClass(f, args[0])
			if err != nil {
				return err
			}
			var names []string
			for _, p := range c.Procedures {
				names = append(names, p.Name)
			}
			if len(names) == 0 {
				return exit{3, fmt.Sprintf("cannot say: needs procedures in the record of class %s", c.Name)}
			}
			ps := c.Procedures
			if len(args) == 2 {
				p, ok := c.Procedure(args[1])
				if !ok {
					return bad("class %s has no procedure %q; it has %s%s", c.Name, reading.Short(args[1]), strings.Join(names, ", "), reading.Hint(args[1], names))
				}
				ps = []*fleet.Instructions{p}
			}
			var docs []*card.Document
			for _, p := range ps {
				docs = append(docs, card.Instructions(c, u, p, d.u()))
			}
			return d.printAll(docs)
		},
	}
}

func (d *door) trips() *cobra.Command {
	return &cobra.Command{
		Use: "trips UNIT|CLASS [WORDS]", Args: cobra.RangeArgs(1, 2),
		Short:   "what can trip: how it looks set and tripped, how often it may be reset, and when never",
		Example: fmt.Sprintf("  headstock trips '%s'\n  headstock trips '%s' oil", example("unit"), example("unit")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			c, u, err := unitOrClass(f, args[0])
			if err != nil {
				return err
			}
			ts := prepare.Trips(c, u)
			if len(args) == 2 {
				var kept []prepare.Trip
				for _, t := range ts {
					for _, x := range f.Find(args[1]) {
						if x.Class == c && x.Device == t.At.Device {
							kept = append(kept, t)
							break
						}
					}
				}
				ts = kept
			}
			if err := d.print(card.Trips(c, u, ts)); err != nil {
				return err
			}
			if len(ts) == 0 {
				return exit{code: 3}
			}
			return nil
		},
	}
}

// unitOrClass reads "Tern 3" or "Tern"; the unit is nil for a class.
func unitOrClass(f *fleet.Fleet, text string) (*fleet.Class, *fleet.Unit, error) {
	fields := strings.Fields(text)
	if len(fields) == 2 {
		if n, err := strconv.Atoi(fields[1]); err == nil {
			c, err := class(f, fields[0])
			if err != nil {
				return nil, nil, err
			}
			u, ok := f.Unit(c.Name, n)
			if !ok {
				var have []string
				for _, x := range f.UnitsOf(c.Name) {
					have = append(have, x.Name())
				}
				return nil, nil, bad("no unit %q in this fleet; expected one of %s%s", reading.Short(text), strings.Join(have, ", "), reading.Hint(c.Name+" "+fields[1], have))
			}
			return c, u, nil
		}
	}
	c, err := class(f, text)
	return c, nil, err
}
