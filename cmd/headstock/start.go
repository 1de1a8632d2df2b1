package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/prepare"
	"headstock/web"
)

// unit reads one unit, as "Class 3" or with its role, and the changes to it; a device
// may be named without its unit.
func (d *door) unit(text string, changes []string, file string) (*consist.Consist, error) {
	if len(strings.Fields(text)) == 2 {
		text += " lead"
	}
	c, _, err := d.consist(text, nil, "")
	if err != nil {
		return nil, err
	}
	if len(c.Vehicles) != 1 {
		return nil, bad("expected one unit, found %d in %q", len(c.Vehicles), text)
	}
	var full []string
	for _, ch := range changes {
		if device, _, _ := strings.Cut(ch, "="); !strings.Contains(device, ".") {
			ch = c.Vehicles[0].Name() + "." + ch
		}
		full = append(full, ch)
	}
	c, _, err = d.consist(text, full, file)
	return c, err
}

func (d *door) crank() *cobra.Command {
	var changes []string
	var file, engine string
	c := &cobra.Command{
		Use: "crank UNIT", Args: cobra.ExactArgs(1),
		Short:   "how far a start of this unit gets as its devices stand, what lights and rings, and what would put it right",
		Long:    "Runs the start that the unit's record describes. Devices stand as --set says, else as for a start, else as for the role (lead, if none is given).\n\nExit status: 0 it starts and loads; 1 it does not; 2 bad input; 3 cannot say.",
		Example: fmt.Sprintf("  headstock crank '%s' --set %s\n  headstock crank --json '%s'", example("unit"), example("missed"), example("unit")),
		RunE: func(_ *cobra.Command, args []string) error {
			c, err := d.unit(args[0], changes, file)
			if err != nil {
				return err
			}
			starts := []string{engine}
			if engine == "" {
				if all := prepare.Starts(c.Vehicles[0]); len(all) > 0 {
					starts = all
				}
			}
			var as []*prepare.Attempt
			code := 0
			for _, s := range starts {
				a, err := prepare.Crank(c, 0, s)
				if err != nil {
					return err
				}
				as = append(as, a)
				switch {
				case a.Result == prepare.NotReached || len(a.Never) > 0:
					code = 1
				case a.Result == prepare.NotKnown && code == 0:
					code = 3
				}
			}
			if d.json {
				if err := d.printJSON(struct {
					Caution string             `json:"caution"`
					Draft   bool               `json:"draft,omitempty"`
					Starts  []*prepare.Attempt `json:"starts"`
					Records []web.Record       `json:"records"`
				}{card.Caution, c.HasDraft(), as, web.Records(c)}); err != nil {
					return err
				}
			} else if err := d.print(card.Crank(c, 0, as)); err != nil {
				return err
			}
			if code != 0 {
				return exit{code: code}
			}
			return nil
		},
	}
	c.Flags().StringArrayVar(&changes, "set", nil, "a device as it stands: device=position (repeat)")
	c.Flags().StringVar(&file, "set-up", "", "file of lines unit.device=position")
	c.Flags().StringVar(&engine, "engine", "", "one start of several, by its name in the record")
	return c
}

func (d *door) jumper() *cobra.Command {
	var changes []string
	var file string
	c := &cobra.Command{
		Use: "jumper CONSIST", Args: cobra.ExactArgs(1),
		Short:   "which commands, lamps and bells cross the control jumper between coupled locomotives",
		Long:    "Joins the circuits of neighbouring units as the jumper or an adapter lead joins them, and puts current on each wire.",
		Example: fmt.Sprintf("  headstock jumper '%s'", example("pair")),
		RunE: func(_ *cobra.Command, args []string) error {
			c, _, err := d.consist(args[0], changes, file)
			if err != nil {
				return err
			}
			js, err := prepare.Jumpers(c)
			if err != nil {
				return err
			}
			if d.json {
				if js == nil {
					js = []*prepare.Jumper{}
				}
				return d.printJSON(struct {
					Caution string            `json:"caution"`
					Draft   bool              `json:"draft,omitempty"`
					Consist string            `json:"consist"`
					Joints  []*prepare.Jumper `json:"joints"`
					Records []web.Record      `json:"records"`
				}{card.Caution, c.HasDraft(), c.String(), js, web.Records(c)})
			}
			return d.print(card.Jumper(c, js))
		},
	}
	c.Flags().StringArrayVar(&changes, "set", nil, "a device as it stands: unit.device=position (repeat)")
	c.Flags().StringVar(&file, "set-up", "", "file of such lines")
	return c
}
