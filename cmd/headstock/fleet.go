package main

import (
	"fmt"
	"io"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/line"
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
			if err := d.there(); err != nil {
				return err
			}
			f, cs := fleet.Read(d.files())
			r, more := rule.Read(d.files())
			cs = append(cs, more...)
			cs = append(cs, r.Against(f)...)
			if _, err := fs.Stat(d.files(), lineFile); err == nil {
				_, more := line.Read(d.files(), lineFile)
				cs = append(cs, more...)
			}
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
				return exit{2, counted(len(cs), "complaint")}
			}
			if !d.json {
				fmt.Fprintf(d.out, "no complaints: %s, %s, %s\n", reading.Short(f.Railway), counted(len(f.Classes), "class"), counted(len(f.Units), "unit"))
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
	return nil, bad("no class %q; expected one of %s%s", reading.Short(name), strings.Join(names, ", "), reading.Hint(name, names))
}

func (d *door) list() *cobra.Command {
	return &cobra.Command{
		Use: "list [CLASS | functions]", Args: cobra.MaximumNArgs(1),
		Short:   "list the classes and units, every device of a class, or the defined function words",
		Example: fmt.Sprintf("  headstock list\n  headstock list %s\n  headstock list functions", example("class")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			if len(args) == 0 {
				return d.print(card.FleetList(f))
			}
			if _, ok := f.Class(args[0]); !ok && args[0] == "functions" {
				return d.print(card.Functions())
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
		Short:   "find devices by name, nickname, function, system or place, in the fleet, a class, or on a unit named among the words",
		Example: fmt.Sprintf("  headstock find '%s'\n  headstock find --class %s 'drain'", example("device"), example("class")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			words := strings.Join(args, " ")
			if strings.Trim(words, " -") == "" {
				return bad("expected words to look for: a name, a nickname, a function, a system or a place")
			}
			doc, n, err := card.Found(f, words, in)
			if err != nil {
				return err
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

// explained are the codes of every complaint: of records, of rules and of line files.
func explained() []reading.Code {
	var out []reading.Code
	for _, c := range fleet.Codes() {
		out = append(out, reading.Code{Code: c.Code, Meaning: c.Meaning, Example: c.Example})
	}
	return append(append(out, rule.Codes()...), line.Codes()...)
}

func (d *door) explain() *cobra.Command {
	return &cobra.Command{
		Use: "explain CLASS|UNIT DEVICE | explain CODE | explain FUNCTION", Args: cobra.MinimumNArgs(1),
		Short:   "everything the record says of a device, by id or nickname; what a complaint code or a function word means",
		Example: fmt.Sprintf("  headstock explain %s changeover\n  headstock explain %s '%s'\n  headstock explain unknown-key\n  headstock explain quick-release", example("class"), example("other"), example("device")),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				return d.explainWord(args[0])
			}
			f, _, err := d.read()
			if err != nil {
				return err
			}
			c, u, err := unitOrClass(f, args[0])
			if err != nil {
				return err
			}
			dev, err := device(c, strings.Join(args[1:], " "))
			if err != nil {
				return err
			}
			return d.print(card.Device(f, c, u, dev))
		},
	}
}

// device finds what a word means in a class; one that could mean several is bad input
// with all of them.
func device(c *fleet.Class, word string) (*fleet.Device, error) {
	found := c.Named(word)
	switch len(found) {
	case 0:
		return nil, bad("class %s has no device %q%s", c.Name, reading.Short(word), reading.Hint(word, c.Names()))
	case 1:
		return found[0], nil
	}
	var ids []string
	for _, d := range found {
		ids = append(ids, d.ID)
	}
	return nil, bad("%q could be %s of class %s; expected one of %s", reading.Short(word), counted(len(ids), "device"), c.Name, strings.Join(ids, ", "))
}

// explainWord explains a complaint code or a word of the defined list of functions.
func (d *door) explainWord(word string) error {
	var all []string
	for _, c := range explained() {
		if c.Code == word {
			if d.json {
				return d.printJSON(map[string]string{"code": c.Code, "meaning": c.Meaning, "example": c.Example})
			}
			_, err := fmt.Fprintf(d.out, "%s\n%s\n", wrapped(c.Code+": "+c.Meaning, d.width), c.Example)
			return err
		}
		all = append(all, c.Code)
	}
	for _, f := range fleet.Functions() {
		if f.Word == word {
			if d.json {
				return d.printJSON(map[string]string{"function": f.Word, "system": f.System, "meaning": f.Meaning})
			}
			_, err := io.WriteString(d.out, wrapped(fmt.Sprintf("%s (%s): %s", f.Word, f.System, f.Meaning), d.width))
			return err
		}
		all = append(all, f.Word)
	}
	return bad("no complaint code and no function %q%s; a device is explained as headstock explain CLASS DEVICE", reading.Short(word), reading.Hint(word, all))
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
	var to string
	c := &cobra.Command{
		Use: "new CLASS", Args: cobra.ExactArgs(1),
		Short:   "write a commented empty class record to standard output, or to a file that is not there yet",
		Example: "  headstock new Curlew --to my-railway/classes/curlew.yaml",
		RunE: func(_ *cobra.Command, args []string) error {
			if err := fleet.CheckName(args[0]); err != nil {
				return err
			}
			if to == "" {
				_, err := fmt.Fprint(d.out, fleet.Blank(args[0]))
				return err
			}
			return writeNew(to, []byte(fleet.Blank(args[0])))
		},
	}
	c.Flags().StringVar(&to, "to", "", "file to write; one that is there already is never written over")
	return c
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
		Short:   "write the JSON Schema of class records, for completion in an editor",
		Example: "  headstock schema > class.schema.json",
		RunE: func(*cobra.Command, []string) error {
			_, err := d.out.Write(fleet.Schema())
			return err
		},
	}
}
