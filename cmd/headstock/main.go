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
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"headstock/card"
	"headstock/consist"
	"headstock/demo"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/paper"
	"headstock/paper/xlsx"
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
	terminal bool
	printer  printer
}

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr, isTerminal(os.Stdout)))
}

// isTerminal reports whether somebody is there: a character device that is not the one
// that swallows everything.
func isTerminal(f *os.File) bool {
	st, err := f.Stat()
	if err != nil || st.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	null, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(st, null)
}

func run(args []string, out, errw io.Writer, terminal bool) int {
	said := &kept{w: out}
	out = said
	d := &door{out: out, err: errw, terminal: terminal, colour: terminal && os.Getenv("NO_COLOR") == ""}
	root := &cobra.Command{
		Use:   "headstock",
		Short: "make differing locomotives fit to run together, from their class records",
		Long:  "headstock plans, runs and judges the set-up of coupled units from class records.\n\nExit status: 0 works (losses included) or done; 1 does not work, a reading out of band, or a claim refuted; 2 bad input; 3 cannot say.",
		Args:  cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(c, args[0])
			}
			return c.Help()
		},
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	f := root.PersistentFlags()
	f.StringVar(&d.folder, "fleet", os.Getenv("HEADSTOCK_FLEET"), "folder of a railway's records; absent: the invented demo railway (also HEADSTOCK_FLEET)")
	f.BoolVar(&d.json, "json", false, "print values as JSON")
	f.StringVar(&d.format, "format", "text", "text, html or csv")
	f.IntVar(&d.width, "width", 0, fmt.Sprintf("columns of text; absent: as wide as the terminal, at most %d", proseWidth))
	f.StringVar(&d.units, "units", "metric", "metric or imperial")
	d.printer.flags(f)
	root.SetOut(out)
	root.SetErr(errw)
	root.SetArgs(args)
	root.PersistentPreRunE = func(cmd *cobra.Command, args []string) error {
		d.printer.ask(cmd, args)
		return d.flags(cmd)
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error { return bad("%s", flagFault(err, c)) })
	for _, c := range []*cobra.Command{
		d.check(), d.list(), d.find(), d.explain(), d.compare(), d.learn(),
		d.newRecord(), d.needs(), d.sign(), d.table(), d.schema(),
		d.steps(), d.trips(), d.walk(), d.measure(), d.fit(), d.route(), d.crank(), d.jumper(),
		d.coupling(), d.cardCommand(), d.takeaway(), d.test(), d.judge(), d.runCommand(), d.ifMoved(), d.matrix(), d.search(), d.coverage(), d.diagnose(), d.why(), d.demo(),
		d.stop(), d.descend(), d.hold(), d.load(), d.moveOff(), d.pull(), d.journey(), d.runIn(), d.profile(),
		d.log(), d.drift(), d.calibrate(), d.serve(), d.certificate(), d.envelope(),
	} {
		root.AddCommand(c)
	}
	d.helping(root)
	plainArgs(root)
	ran, err := root.ExecuteContextC(context.Background())
	if err == nil {
		err = d.printer.unused(ran)
	}
	if err == nil && said.err != nil {
		err = said.err
	}
	if err != nil {
		var e exit
		var unsaid *consist.CannotSay
		var file *fs.PathError
		switch {
		case errors.As(err, &e):
		case errors.As(err, &file):
			e = exit{2, unreadable(err).Error()}
		case errors.As(err, &unsaid):
			e = exit{3, err.Error()}
		default:
			e = exit{2, required(err.Error())}
		}
		if e.text != "" {
			fmt.Fprintln(errw, reading.Tidy(e.text))
		}
		return e.code
	}
	return 0
}

// required words plainly that a flag is missing without which a command does nothing.
func required(message string) string {
	names, ok := strings.CutPrefix(message, "required flag(s) ")
	if !ok {
		return message
	}
	names, _ = strings.CutSuffix(names, " not set")
	return "expected --" + strings.Join(strings.Split(strings.ReplaceAll(names, `"`, ""), ", "), " and --") + " beside it; --help says what it is for"
}

// plainArgs words it plainly where a command finds more or fewer words than it takes.
func plainArgs(c *cobra.Command) {
	for _, sub := range c.Commands() {
		plainArgs(sub)
		check := sub.Args
		if check == nil {
			continue
		}
		sub.Args = func(c *cobra.Command, args []string) error {
			err := check(c, args)
			var e exit
			if err == nil || errors.As(err, &e) {
				return err
			}
			parent := c.Parent().CommandPath() + " "
			return bad("expected %s, found %s after %s; words that belong together stand in quotes: '%s'",
				parent+strings.ReplaceAll(c.Use, " | ", " | "+parent), counted(len(args), "word"), c.Name(), example("unit"))
		}
	}
}

// leastWidth is the narrowest paper that a document is laid out for.
const leastWidth = 20

// flags holds what every command is told against what it can do, before it does anything.
func (d *door) flags(cmd *cobra.Command) error {
	formats := []string{"text", "html", "csv"}
	units := []string{quantity.Metric().Name(), quantity.Imperial().Name()}
	if !slices.Contains(formats, d.format) {
		return bad("--format knows no %q; expected one of %s%s", d.format, strings.Join(formats, ", "), reading.Hint(d.format, formats))
	}
	if !slices.Contains(units, d.units) {
		return bad("--units knows no %q; expected one of %s%s", d.units, strings.Join(units, ", "), reading.Hint(d.units, units))
	}
	given := cmd.Flags().Changed
	switch {
	case !given("width"):
		d.width = screenWidth(d.terminal)
	case d.width < leastWidth:
		return bad("--width wants at least %d columns, found %d", leastWidth, d.width)
	}
	if d.json && given("format") {
		return bad("--json and --format both say how it is written; expected one of them")
	}
	if d.printer.file == "" {
		for _, name := range []string{"paper", "base"} {
			if given(name) && !(name == "base" && slices.Contains([]string{"serve", "certificate"}, cmd.Name())) {
				return bad("--%s is for print; expected --pdf FILE beside it", name)
			}
		}
	}
	return nil
}

// flagFault words what is wrong with a flag of a command, without the parser's inner words.
func flagFault(err error, c *cobra.Command) string {
	msg := err.Error()
	if what, inner, ok := strings.Cut(msg, " flag: strconv."); ok {
		kind, why, _ := strings.Cut(inner, ":")
		expected := map[string]string{"ParseInt": "a whole number", "ParseUint": "a whole number from 0 on", "ParseFloat": "a number", "ParseBool": "true or false"}[kind]
		switch {
		case expected == "":
			return what
		case strings.HasSuffix(why, "range"):
			return what + ": it is too large; expected " + expected
		}
		return what + "; expected " + expected
	}
	if what, name, ok := strings.Cut(msg, "flag: "); ok {
		var all []string
		c.Flags().VisitAll(func(f *pflag.Flag) { all = append(all, "--"+f.Name) })
		hint := reading.Hint(name, all)
		if word := strings.TrimPrefix(name, "--"); word == "html" || word == "csv" || word == "text" {
			hint = "; nearest: --format " + word
		}
		return what + "flag: " + reading.Short(name) + hint
	}
	return msg
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
	return xlsx.Folder(os.DirFS(d.folder))
}

// there says what is wrong with the folder the user named, before anything in it.
func (d *door) there() error {
	if d.folder == "" {
		return nil
	}
	st, err := os.Stat(d.folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return bad("there is no folder %q", d.folder)
	case err != nil:
		return unreadable(err)
	case !st.IsDir():
		return bad("%q is a file; expected the folder of a railway's records", d.folder)
	}
	return nil
}

// unreadable is bad input: a file that cannot be opened, read or made.
func unreadable(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return bad("cannot %s %q: %v", p.Op, p.Path, p.Err)
	}
	return exit{2, err.Error()}
}

// counted writes a number of things whose name takes an s.
func counted(n int, thing string) string {
	switch {
	case n == 1:
		return "1 " + thing
	case strings.HasSuffix(thing, "s"):
		return fmt.Sprintf("%d %ses", n, thing)
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// read reads the fleet and the rules; any complaint is bad input.
func (d *door) read() (*fleet.Fleet, *rule.Rules, error) {
	if err := d.there(); err != nil {
		return nil, nil, err
	}
	f, complaints := fleet.Read(d.files())
	r, more := rule.Read(d.files())
	complaints = append(complaints, more...)
	complaints = append(complaints, r.Against(f)...)
	if len(complaints) > 0 {
		d.complain(complaints)
		return nil, nil, exit{2, counted(len(complaints), "complaint") + "; mend the records, or see them all with check"}
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
	u, _ := quantity.UnitsNamed(d.units)
	return u
}

// printAll puts documents on paper one after another; as JSON they are one value.
func (d *door) printAll(docs []*card.Document) error {
	if !d.json || len(docs) == 1 || d.printer.asked() {
		for _, doc := range docs {
			if err := d.print(doc); err != nil {
				return err
			}
		}
		return nil
	}
	return d.printJSON(struct {
		Caution   string           `json:"caution"`
		Documents []*card.Document `json:"documents"`
	}{card.Caution, docs})
}

// print puts a document on paper.
func (d *door) print(doc *card.Document) error {
	if err := d.printer.print(doc); err != nil {
		return err
	}
	if d.json {
		return d.printJSON(struct {
			Caution string `json:"caution"`
			*card.Document
		}{card.Caution, doc})
	}
	if d.printer.asked() {
		return d.printer.say(d.out, d.width)
	}
	switch d.format {
	case "html":
		return paper.HTML(d.out, doc)
	case "csv":
		return paper.CSV(d.out, doc)
	}
	return paper.Text(d.out, doc, paper.Style{Width: d.width, Colour: d.colour})
}
