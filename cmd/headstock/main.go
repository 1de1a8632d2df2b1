// Command headstock makes differing locomotives fit to run together: it lists and finds
// devices, plans a set-up from class records, runs the brake test, judges readings, and
// says why. It parses, calls one verb, prints, and sets the exit status:
//
//	0 works (losses included), or done
//	1 does not work, a reading outside its allowed band, or a claim refuted
//	2 bad input
//	3 cannot say
package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/demo"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/paper"
	"headstock/quantity"
	"headstock/rule"
)

// exit is an error that carries an exit status; its text may be empty when everything
// has been printed already.
type exit struct {
	code int
	text string
}

func (e exit) Error() string { return e.text }

func bad(format string, args ...any) error { return exit{2, fmt.Sprintf(format, args...)} }

// door holds what every command needs.
type door struct {
	out, err io.Writer
	folder   string
	json     bool
	format   string
	width    int
	units    string
	colour   bool
}

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr, isTerminal(os.Stdout)))
}

func isTerminal(f *os.File) bool {
	st, err := f.Stat()
	return err == nil && st.Mode()&os.ModeCharDevice != 0
}

func run(args []string, out, errw io.Writer, terminal bool) int {
	d := &door{out: out, err: errw, colour: terminal && os.Getenv("NO_COLOR") == ""}
	root := &cobra.Command{
		Use:           "headstock",
		Short:         "make differing locomotives fit to run together, from their class records",
		Long:          "headstock plans, runs and judges the set-up of coupled units from class records.\n\n" + card.Caution + "\n\nExit status: 0 works (losses included) or done; 1 does not work, a reading out of band, or a claim refuted; 2 bad input; 3 cannot say.",
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	f := root.PersistentFlags()
	f.StringVar(&d.folder, "fleet", os.Getenv("HEADSTOCK_FLEET"), "folder of a railway's records; absent: the invented demo railway (also HEADSTOCK_FLEET)")
	f.BoolVar(&d.json, "json", false, "print values as JSON")
	f.StringVar(&d.format, "format", "text", "text, html or csv")
	f.IntVar(&d.width, "width", 100, "columns of text")
	f.StringVar(&d.units, "units", "metric", "metric or imperial")
	root.SetOut(out)
	root.SetErr(errw)
	root.SetArgs(args)
	for _, c := range []*cobra.Command{d.check(), d.list(), d.find(), d.explain(), d.compare(), d.newRecord(), d.needs(), d.schema(), d.cardCommand(), d.test(), d.judge(), d.runCommand(), d.why(), d.ifMoved(), d.learn(), d.steps(), d.trips(), d.demo()} {
		root.AddCommand(c)
	}
	if err := root.Execute(); err != nil {
		var e exit
		if errors.As(err, &e) {
			if e.text != "" {
				fmt.Fprintln(errw, e.text)
			}
			return e.code
		}
		fmt.Fprintln(errw, err)
		return 2
	}
	return 0
}

// example finds a line of the demo's examples.
func example(name string) string {
	for _, l := range strings.Split(demo.Examples(), "\n") {
		if k, v, ok := strings.Cut(l, ": "); ok && k == name {
			return v
		}
	}
	return ""
}

// files is the folder the user named, or the demo railway.
func (d *door) files() fs.FS {
	if d.folder == "" {
		return demo.Railway()
	}
	return os.DirFS(d.folder)
}

// read reads the fleet and the rules; any complaint is bad input.
func (d *door) read() (*fleet.Fleet, *rule.Rules, error) {
	f, complaints := fleet.Read(d.files())
	r, more := rule.Read(d.files())
	complaints = append(complaints, more...)
	if len(complaints) > 0 {
		d.complain(complaints)
		return nil, nil, exit{2, fmt.Sprintf("%d complaints; mend the records, or see them all with check", len(complaints))}
	}
	return f, r, nil
}

func (d *door) complain(cs []reading.Complaint) {
	for i, c := range cs {
		if i == 20 {
			fmt.Fprintf(d.err, "… and %d more\n", len(cs)-20)
			return
		}
		fmt.Fprintln(d.err, c.String())
	}
}

func (d *door) u() quantity.Units {
	if strings.HasPrefix(d.units, "imp") {
		return quantity.Imperial()
	}
	return quantity.Metric()
}

// print puts a document on paper.
func (d *door) print(doc *card.Document) error {
	if d.json {
		return d.printJSON(doc)
	}
	switch d.format {
	case "html":
		return paper.HTML(d.out, doc)
	case "csv":
		return paper.CSV(d.out, doc)
	case "text":
		return paper.Text(d.out, doc, paper.Style{Width: d.width, Colour: d.colour})
	}
	return bad("no format %q; expected text, html or csv", d.format)
}
