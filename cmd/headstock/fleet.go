package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/rule"
)

func (d *door) check() *cobra.Command {
	return &cobra.Command{
		Use: "check [FOLDER]", Args: cobra.MaximumNArgs(1),
		Short:   "check every record of a railway's folder and list every complaint with file, line and column",
		Example: "  headstock check my-railway\n  headstock check --json my-railway",
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				d.folder = args[0]
			}
			f, cs := fleet.Read(d.files())
			_, more := rule.Read(d.files())
			cs = append(cs, more...)
			if d.json {
				if cs == nil {
					cs = []reading.Complaint{}
				}
				if err := d.printJSON(cs); err != nil {
					return err
				}
			} else {
				for _, c := range cs {
					fmt.Fprintln(d.out, c.String())
				}
			}
			if len(cs) > 0 {
				return exit{2, fmt.Sprintf("%d complaints", len(cs))}
			}
			if !d.json {
				fmt.Fprintf(d.out, "no complaints: %s, %d classes, %d units\n", f.Railway, len(f.Classes), len(f.Units))
			}
			return nil
		},
	}
}

// class finds a class by name; a wrong name is bad input with the nearest.
func class(f *fleet.Fleet, name string) (*fleet.Class, error) {
	if c, ok := f.Class(name); ok {
		return c, nil
	}
	var names []string
	for _, c := range f.Classes {
		names = append(names, c.Name)
	}
	return nil, bad("no class %q; expected one of %s; nearest: %s", name, strings.Join(names, ", "), reading.Nearest(name, names))
}

func (d *door) list() *cobra.Command {
	return &cobra.Command{
		Use: "list [CLASS]", Args: cobra.MaximumNArgs(1),
		Short:   "list the classes and units, or every device of a class",
		Example: fmt.Sprintf("  headstock list\n  headstock list %s", example("class")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			if len(args) == 0 {
				return d.print(card.FleetList(f))
			}
			c, err := class(f, args[0])
			if err != nil {
				return err
			}
			return d.print(card.Devices(c, c.Devices, "Devices of class "+c.Name))
		},
	}
}

func (d *door) find() *cobra.Command {
	var in string
	c := &cobra.Command{
		Use: "find WORDS", Args: cobra.MinimumNArgs(1),
		Short:   "find devices by name, nickname, function, system or place",
		Example: fmt.Sprintf("  headstock find '%s'\n  headstock find --class %s 'drain'", example("device"), example("class")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			doc, n, err := card.Found(f, strings.Join(args, " "), in)
			if err != nil {
				return exit{2, err.Error()}
			}
			if err := d.print(doc); err != nil {
				return err
			}
			if n == 0 {
				return exit{code: 3}
			}
			return nil
		},
	}
	c.Flags().StringVar(&in, "class", "", "in this class only")
	return c
}

func (d *door) explain() *cobra.Command {
	return &cobra.Command{
		Use: "explain CLASS DEVICE | explain CODE", Args: cobra.RangeArgs(1, 2),
		Short:   "everything the record says of a device, or what a complaint code means",
		Example: fmt.Sprintf("  headstock explain %s changeover\n  headstock explain unknown-key", example("class")),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				for _, c := range fleet.Codes() {
					if c.Code == args[0] {
						if d.json {
							return d.printJSON(c)
						}
						fmt.Fprintf(d.out, "%s: %s\n\n%s\n", c.Code, c.Meaning, c.Example)
						return nil
					}
				}
				var all []string
				for _, c := range fleet.Codes() {
					all = append(all, c.Code)
				}
				return bad("no complaint code %q; nearest: %s", args[0], reading.Nearest(args[0], all))
			}
			f, _, err := d.read()
			if err != nil {
				return err
			}
			c, err := class(f, args[0])
			if err != nil {
				return err
			}
			dev, ok := c.Device(args[1])
			if !ok {
				var ids []string
				for _, x := range c.Devices {
					ids = append(ids, x.ID)
				}
				return bad("class %s has no device %q; nearest: %s", c.Name, args[1], reading.Nearest(args[1], ids))
			}
			return d.print(card.Device(f, c, dev))
		},
	}
}

func (d *door) compare() *cobra.Command {
	return &cobra.Command{
		Use: "compare CLASS OTHER", Args: cobra.ExactArgs(2),
		Short:   "what differs between two classes in place, sense, number or meaning of positions",
		Example: fmt.Sprintf("  headstock compare %s %s", example("other"), example("class")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			a, err := class(f, args[0])
			if err != nil {
				return err
			}
			b, err := class(f, args[1])
			if err != nil {
				return err
			}
			return d.print(card.Compared(a, b))
		},
	}
}

func (d *door) newRecord() *cobra.Command {
	return &cobra.Command{
		Use: "new CLASS", Args: cobra.ExactArgs(1),
		Short:   "write a commented empty class record to standard output",
		Example: "  headstock new Curlew > my-railway/classes/curlew.yaml",
		RunE: func(_ *cobra.Command, args []string) error {
			_, err := fmt.Fprint(d.out, fleet.Blank(args[0]))
			return err
		},
	}
}

func (d *door) needs() *cobra.Command {
	return &cobra.Command{
		Use: "needs CLASS", Args: cobra.ExactArgs(1),
		Short:   "how far a record has come and what it still needs for its next level",
		Example: fmt.Sprintf("  headstock needs %s", example("class")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			c, err := class(f, args[0])
			if err != nil {
				return err
			}
			return d.print(card.Needs(c))
		},
	}
}

func (d *door) schema() *cobra.Command {
	return &cobra.Command{
		Use: "schema", Args: cobra.NoArgs,
		Short: "write the JSON Schema of class records, for completion in an editor",
		RunE: func(*cobra.Command, []string) error {
			_, err := d.out.Write(fleet.Schema())
			return err
		},
	}
}
