package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/fleet"
	"headstock/prepare"
	"headstock/rule"
	"headstock/web"
)

func (d *door) walk() *cobra.Command {
	var date, freeze, logFile string
	var afresh, brief bool
	c := &cobra.Command{
		Use: "walk CLASS|UNIT", Args: cobra.RangeArgs(1, 2),
		Short: "walk-round inspection sheet: stand after stand, what to look at, its limits, room to write",
		Long: "The order of the stands is the shortest that keeps to the ways, states and precedence of the record.\n" +
			"It is frozen in the class folder, so that the stands come in the same order every time.\n" +
			"For a unit the sheet adds what stands otherwise today, open defects, and leaves out what is not yet due.",
		Example: fmt.Sprintf("  headstock walk %s\n  headstock walk '%s' --date 2026-10-01\n  headstock walk %s --freeze my-railway", example("class"), example("unit"), example("class")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			c, u, err := unitOrClass(f, strings.Join(args, " "))
			if err != nil {
				return err
			}
			of := prepare.Of
			if freeze != "" || afresh {
				of = prepare.Compute
			}
			w, err := of(c)
			var unsaid *prepare.Unsaid
			if errors.As(err, &unsaid) {
				return exit{3, fmt.Sprintf("class %s: %v", c.Name, err)}
			}
			if err != nil {
				return err
			}
			if freeze != "" {
				return d.freeze(w, freeze)
			}
			if u != nil {
				if u, err = d.withLog(c, u, logFile); err != nil {
					return err
				}
			}
			if u != nil && date == "" {
				date = time.Now().Format("2006-01-02")
			}
			s, err := prepare.Today(w, u, date, brief)
			if err != nil {
				return exit{2, err.Error()}
			}
			if d.json {
				return d.printJSON(walkOf(c, s))
			}
			return d.print(card.Walk(s, d.u()))
		},
	}
	c.Flags().StringVar(&date, "date", "", "day of the sheet, like 2026-10-01; for a unit without it, today")
	logFlag(c, &logFile)
	c.Flags().StringVar(&freeze, "freeze", "", "write the computed order as walk.yaml into this folder: the railway's, or the class's own")
	c.Flags().BoolVar(&brief, "brief", false, "only checks, readings, trips, what must not be moved, and what today adds")
	c.Flags().BoolVar(&afresh, "afresh", false, "compute the order from the record, whatever is frozen")
	return c
}

// freeze writes the order of a walk beside its class. In a railway's folder that is the
// folder of the class; a class of one file gets none, since the file is not ours to change.
func (d *door) freeze(w *prepare.Walk, folder string) error {
	if st, err := os.Stat(folder); err != nil || !st.IsDir() {
		return bad("%s is no folder; expected a railway's folder or that of the class", folder)
	}
	if _, err := os.Stat(filepath.Join(folder, "classes")); err == nil {
		in := filepath.Join(folder, "classes", strings.ToLower(w.Class.Name))
		if st, err := os.Stat(in); err != nil || !st.IsDir() {
			return bad("%s is no folder; make one of that name and move the class's file into it", in)
		}
		folder = in
	}
	name := filepath.Join(folder, "walk.yaml")
	if err := writeFile(name, []byte(fleet.WriteWalkOrder(w.Class, w.Freeze())), 0o644); err != nil {
		return exit{2, err.Error()}
	}
	proof := "bounded, not proved shortest"
	if w.Proved {
		proof = "proved shortest"
	}
	_, err := fmt.Fprintf(d.out, "wrote %s: %d stands and acts, %s\n", name, len(w.Stands), proof)
	return err
}

func (d *door) measure() *cobra.Command {
	return &cobra.Command{
		Use: "measure UNIT FILE", Args: cobra.RangeArgs(2, 3),
		Short: "hold the values of a filled-in sheet (CSV: item,part,reading,value) against their limits",
		Long: "item is the id of a check or a device; part tells cylinders, blocks or wheels apart (\"axle 2 left\");\n" +
			"reading says what was read and may be empty for a check with one value:\n\n" +
			"  applied, released, travel, total possible   of a piston\n" +
			"  start, end, time                            of a fall of pressure\n" +
			"  shows, test gauge                           of a gauge\n" +
			"  thickness, height …                         any limit of the device by its name\n" +
			"  diameter, circumference, inside gauge       of wheels\n" +
			"  orifice, held                               of a compressor that holds a pressure against a hole\n" +
			"  certified, radius, strength, depth          of a main reservoir's tell-tale holes\n\n" +
			"Exit status 1 when a value lies outside, 3 when one cannot be judged or must be read again.",
		Example: fmt.Sprintf("  headstock measure '%s' sheet.csv", example("unit")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, r, err := d.read()
			if err != nil {
				return err
			}
			c, u, err := unitOrClass(f, strings.Join(args[:len(args)-1], " "))
			if err != nil {
				return err
			}
			if u == nil {
				return bad("measure wants a unit, such as %s", example("unit"))
			}
			file := args[len(args)-1]
			es, err := sheetValues(file)
			if err != nil {
				return err
			}
			rs, err := prepare.Measure(c, u, r, es)
			if err != nil {
				return bad("%s: %v", file, err)
			}
			return d.measured(c, u, r, rs)
		},
	}
}

func (d *door) measured(c *fleet.Class, u *fleet.Unit, r *rule.Rules, rs []prepare.Result) error {
	if d.json {
		if err := d.printJSON(struct {
			Caution string           `json:"caution"`
			Record  web.Record       `json:"record"`
			Rules   string           `json:"rules"`
			Unit    string           `json:"unit"`
			Results []measuredResult `json:"results"`
		}{card.Caution, web.Record{Class: c.Name, Revision: c.Revision.State, Date: c.Revision.Date, Hash: c.Hash}, r.Title, u.Name(), measuredResults(rs)}); err != nil {
			return err
		}
	} else if err := d.print(card.Measured(c, u, rs, d.u())); err != nil {
		return err
	}
	code := 0
	if len(rs) == 0 {
		code = 3
	}
	for _, x := range rs {
		switch {
		case x.Status == prepare.Outside:
			code = 1
		case x.Status != prepare.Within && code == 0:
			code = 3
		}
	}
	if code != 0 {
		return exit{code: code}
	}
	return nil
}

// sheetValues reads the values of a filled-in sheet; the first row names the columns.
func sheetValues(name string) ([]prepare.Entry, error) {
	cr, err := table(name)
	if err != nil {
		return nil, err
	}
	const columns = "item,part,reading,value"
	var out []prepare.Entry
	first := true
	for {
		row, err := cr.Read()
		switch {
		case err == io.EOF && first:
			return nil, bad("%s:1:1: the table is empty; expected the columns %s, and a row for each value", name, columns)
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
		if row[3] == "" {
			continue // a line of the sheet that nobody filled in
		}
		out = append(out, prepare.Entry{Line: line, Item: row[0], Part: row[1], Reading: row[2], Value: row[3]})
	}
}

// measuredResult is a result for programs: a limit that is open is left out.
type measuredResult struct {
	Item    string         `json:"item"`
	Part    string         `json:"part,omitempty"`
	What    string         `json:"what,omitempty"`
	Entered string         `json:"entered"`
	Value   *float64       `json:"value,omitempty"`
	Kind    string         `json:"kind,omitempty"`
	Status  string         `json:"status"`
	Limits  []heldLimit    `json:"limits,omitempty"`
	Says    []prepare.Says `json:"says,omitempty"`
	Then    string         `json:"what_then,omitempty"`
	Outside string         `json:"outside,omitempty"`
	Lines   []int          `json:"lines"`
}

type heldLimit struct {
	AtLeast *float64 `json:"at_least,omitempty"`
	AtMost  *float64 `json:"at_most,omitempty"`
	What    string   `json:"what"`
	Source  string   `json:"source"`
	Row     string   `json:"row,omitempty"`
	Status  string   `json:"status"`
}

func measuredResults(rs []prepare.Result) []measuredResult {
	out := []measuredResult{}
	for _, r := range rs {
		m := measuredResult{Item: r.Item, Part: r.Part, What: r.What, Entered: r.Read, Status: r.Status, Says: r.Says, Then: r.Then, Outside: r.Outside, Lines: r.Lines}
		if r.Known {
			m.Value, m.Kind = &r.Value, r.Kind.String()
		}
		for _, h := range r.Held {
			l := heldLimit{What: h.What, Source: h.Source, Row: h.Row, Status: h.Status}
			l.AtLeast, l.AtMost = h.Ends()
			m.Limits = append(m.Limits, l)
		}
		out = append(out, m)
	}
	return out
}
