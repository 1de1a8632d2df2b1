package main

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"headstock/calendar"
	"headstock/card"
	"headstock/fleet"
	"headstock/internal/reading"
	"headstock/logbook"
	"headstock/logbook/sqlite"
	"headstock/prepare"
	"headstock/quantity"
	"headstock/web"
)

// logDoor is what every command on a logbook needs.
type logDoor struct {
	*door
	file string
	who  string
	at   string
}

func (d *door) log() *cobra.Command {
	l := &logDoor{door: d}
	c := &cobra.Command{
		Use:   "log",
		Short: "the logbook: sheets, measurements, defects, handovers; added to and never changed",
		Long: "The logbook keeps entries against units, in one file. An entry is never changed or removed: a mistake is put right by a\n" +
			"further entry (log correct), and the earlier one stays to be read. Each entry carries the hash of the one before it, so\n" +
			"log check finds any that was changed or lost.\n\n" +
			"The file is named with --log (or HEADSTOCK_LOG); with --fleet it is logbook.db in that folder. Keep it on a local disk.",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			var names []string
			for _, x := range c.Commands() {
				names = append(names, x.Name())
			}
			return bad("log has no command %q%s", args[0], reading.Hint(args[0], names))
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
		Example: fmt.Sprintf("  headstock log measure '%s' 'piston travel' '92 mm' --device %s --state applied --who 'A. Reader' --log mine.db\n"+
			"  headstock log defect '%s' 'weeps at the hose' --device third-pipe-hose-1 --who 'A. Reader' --log mine.db\n"+
			"  headstock log list --log mine.db", example("unit"), example("piston"), example("unit")),
	}
	c.PersistentFlags().StringVar(&l.file, "log", os.Getenv("HEADSTOCK_LOG"), "file of the logbook (also HEADSTOCK_LOG); absent: logbook.db in the folder of --fleet")
	for _, sub := range []*cobra.Command{l.list(), l.show(), l.measure(), l.add(), l.defect(), l.closeDefect(), l.handover(), l.correct(), l.export(), l.backup(), l.restore(), l.check()} {
		c.AddCommand(sub)
	}
	return c
}

// path is where the logbook lies.
func (l *logDoor) path() (string, error) {
	switch {
	case l.file != "":
		return l.file, nil
	case l.folder != "":
		return filepath.Join(l.folder, "logbook.db"), nil
	}
	return "", bad("name the file of the logbook with --log FILE; the demo railway has none of its own")
}

// open opens the logbook to write to it.
func (l *logDoor) open() (*sqlite.Store, error) {
	path, err := l.path()
	if err != nil {
		return nil, err
	}
	s, err := sqlite.Open(path)
	if err != nil {
		return nil, exit{2, err.Error()}
	}
	return s, nil
}

// book reads a logbook that is there.
func (l *logDoor) book() (*logbook.Book, error) {
	path, err := l.path()
	if err != nil {
		return nil, err
	}
	s, err := sqlite.Read(path)
	if err != nil {
		return nil, exit{2, err.Error()}
	}
	defer s.Close()
	return booked(s)
}

// logFlag is for the commands that a logbook tells something.
func logFlag(c *cobra.Command, file *string) {
	c.Flags().StringVar(file, "log", os.Getenv("HEADSTOCK_LOG"), "logbook whose open defects and readings of the unit count too; absent: logbook.db in the folder of --fleet, if it is there")
}

// withLog is a unit with what a logbook holds of it beside its record.
func (d *door) withLog(c *fleet.Class, u *fleet.Unit, file string) (*fleet.Unit, error) {
	l := &logDoor{door: d, file: file}
	if file == "" {
		if d.folder == "" {
			return u, nil
		}
		path, _ := l.path()
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			return u, nil
		}
	}
	b, err := l.book()
	if err != nil {
		return nil, err
	}
	return web.Kept(c, u, b, d.u())
}

func booked(s *sqlite.Store) (*logbook.Book, error) {
	entries, err := s.List(logbook.Filter{})
	if err != nil {
		return nil, exit{2, err.Error()}
	}
	return logbook.NewBook(entries), nil
}

// writes completes a command that adds an entry.
func (l *logDoor) writes(c *cobra.Command) *cobra.Command {
	c.Flags().StringVar(&l.who, "who", os.Getenv("HEADSTOCK_WHO"), "name of who writes (also HEADSTOCK_WHO)")
	c.Flags().StringVar(&l.at, "at", "", "when it was so, UTC: 2026-10-03 or '2026-10-03 06:30'; absent: now")
	return c
}

// moment reads --at.
func moment(text string, now time.Time) (time.Time, error) {
	if text == "" {
		return now, nil
	}
	if d, err := calendar.Parse(text); err == nil {
		return d.Midnight(), nil
	}
	for _, form := range []string{"2006-01-02 15:04", "2006-01-02 15:04:05", time.RFC3339} {
		if t, err := time.Parse(form, text); err == nil {
			return t.UTC(), nil
		}
	}
	return time.Time{}, bad("%q is no time; expected one as in 2026-10-03 or '2026-10-03 06:30', in UTC", text)
}

// entry begins an entry: its id, its times, its writer.
func (l *logDoor) entry(kind logbook.Kind, unit string) (logbook.Entry, error) {
	now := time.Now().UTC().Truncate(time.Second)
	at, err := moment(l.at, now)
	if err != nil {
		return logbook.Entry{}, err
	}
	e := logbook.Entry{At: at, Written: now, Kind: kind, Unit: unit, Who: strings.TrimSpace(l.who)}
	if e.Who == "" {
		return e, bad("say who writes with --who NAME")
	}
	if _, err := rand.Read(e.ID[:]); err != nil {
		return e, err
	}
	return e, nil
}

// keep adds entries and says so; see hold.
func (l *logDoor) keep(s *sqlite.Store, b *logbook.Book, f *fleet.Fleet, begin bool, places []string, es ...logbook.Entry) error {
	done, err := l.hold(s, b, f, begin, places, es...)
	if err != nil {
		return err
	}
	if l.json {
		return l.entries(done)
	}
	b = logbook.NewBook(slices.Concat(b.Entries(), done))
	if len(done) == 1 {
		return l.print(card.Wrote(b, done[0], l.u()))
	}
	return l.print(card.Log(b, done, "Kept", l.u()))
}

// hold holds entries against the records and adds them; places say where each was written,
// for a complaint, and may be nil.
func (l *logDoor) hold(s *sqlite.Store, b *logbook.Book, f *fleet.Fleet, begin bool, places []string, es ...logbook.Entry) ([]logbook.Entry, error) {
	kept := b.Readings()
	var done []logbook.Entry
	for i, e := range es { // all are looked at before any is written
		var err error
		if es[i], err = e.Against(f, kept, begin); err == nil {
			err = es[i].Validate()
		}
		if err != nil {
			text := err.Error()
			if errors.Is(err, logbook.ErrNewMeasure) && es[i].Kind != logbook.Correction {
				text += "; to begin a measure of that name say --new"
			}
			if places != nil {
				text = places[i] + ": " + text
			}
			return nil, exit{2, text}
		}
		if begin {
			kept = append(kept, logbook.NewBook(es[i:i+1]).Readings()...)
		}
	}
	if s == nil {
		var err error
		if s, err = l.open(); err != nil {
			return nil, err
		}
		defer s.Close()
	}
	for _, e := range es {
		e, err := s.Append(e)
		if err != nil {
			return done, exit{2, err.Error()}
		}
		done = append(done, e)
	}
	return done, nil
}

// entries prints entries as JSON, with the caution.
func (l *logDoor) entries(es []logbook.Entry) error {
	if es == nil {
		es = []logbook.Entry{}
	}
	return l.printJSON(struct {
		Caution string          `json:"caution"`
		Entries []logbook.Entry `json:"entries"`
	}{card.Caution, es})
}

// writing runs what adds entries: with the fleet, the store, and what it holds. Where
// there is no logbook yet the store is nil until an entry is fit to be kept, so that a slip
// of the pen makes no file.
func (l *logDoor) writing(do func(*fleet.Fleet, *sqlite.Store, *logbook.Book) error) error {
	f, _, err := l.read()
	if err != nil {
		return err
	}
	path, err := l.path()
	if err != nil {
		return err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return do(f, nil, logbook.NewBook(nil))
	}
	s, err := l.open()
	if err != nil {
		return err
	}
	defer s.Close()
	b, err := booked(s)
	if err != nil {
		return err
	}
	return do(f, s, b)
}

// value reads a quantity of the command line.
func value(text string) (*logbook.Value, error) {
	q, err := quantity.Parse(text)
	if err != nil {
		return nil, bad("%v", err)
	}
	return logbook.ValueOf(q), nil
}

func (l *logDoor) measure() *cobra.Command {
	var line logbook.Line
	var begin bool
	var text, file string
	c := l.writes(&cobra.Command{
		Use: "measure UNIT QUANTITY VALUE | measure --file FILE", Args: cobra.MaximumNArgs(3),
		Short: "write down a reading, or many from a table",
		Long: "Write down a reading of a unit. The name of the quantity is one that is commonly kept (piston travel, block thickness, oil use,\n" +
			"brake pipe leakage …) or one that this log keeps already; --new begins another. Say what state it was read in: readings in\n" +
			"different states are different rows. --renewed says that something was renewed or adjusted before this reading.\n\n" +
			"A table (CSV) has the columns at,unit,quantity,value and may have device,state,renewed,text; each row becomes an entry.",
		Example: fmt.Sprintf("  headstock log measure '%s' 'piston travel' '92 mm' --device %s --state applied --who 'A. Reader' --log mine.db\n"+
			"  headstock log measure --file readings.csv --who 'A. Reader' --log mine.db", example("unit"), example("piston")),
		RunE: func(_ *cobra.Command, args []string) error {
			if (file == "") != (len(args) == 3) {
				return bad("expected a unit, a quantity and a value, or a table with --file")
			}
			var es []logbook.Entry
			var places []string
			if file != "" {
				var err error
				if es, places, err = l.table(file); err != nil {
					return err
				}
			} else {
				v, err := value(args[2])
				if err != nil {
					return err
				}
				e, err := l.entry(logbook.Measurement, args[0])
				if err != nil {
					return err
				}
				line.What, line.Value = args[1], v
				e.Text, e.Lines = text, []logbook.Line{line}
				es = append(es, e)
			}
			return l.writing(func(f *fleet.Fleet, s *sqlite.Store, b *logbook.Book) error {
				return l.keep(s, b, f, begin, places, es...)
			})
		},
	})
	c.Flags().StringVar(&line.Device, "device", "", "device or element that was measured; absent: the unit as a whole")
	c.Flags().StringVar(&line.State, "state", "", "state it was read in, e.g. applied, or hot and idling")
	c.Flags().BoolVar(&line.Renewed, "renewed", false, "something was renewed or adjusted before this reading")
	c.Flags().BoolVar(&begin, "new", false, "begin a measure that this log does not keep yet")
	c.Flags().StringVar(&text, "text", "", "remark")
	c.Flags().StringVar(&file, "file", "", "table of readings")
	return c
}

// rows reads a table whose first row names its columns; needed must be there, others may.
func rows(file string, needed, others []string) ([]map[string]string, []int, error) {
	r, err := table(file)
	if err != nil {
		return nil, nil, err
	}
	var head []string
	var out []map[string]string
	var lines []int
	known, besides := slices.Concat(needed, others), ""
	if len(others) > 0 {
		besides = ", and if you like " + strings.Join(others, ", ")
	}
	for {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, nil, uncut(file, err)
		}
		line, _ := r.FieldPos(0)
		if head == nil {
			for i, h := range row {
				h = strings.ToLower(strings.TrimSpace(h))
				if !slices.Contains(known, h) {
					_, col := r.FieldPos(i)
					return nil, nil, bad("%s:%d:%d: no column %q; expected %s%s%s", file, line, col, reading.Short(h), strings.Join(needed, ", "), besides, reading.Hint(h, known))
				}
				head = append(head, h)
			}
			for _, n := range needed {
				if !slices.Contains(head, n) {
					return nil, nil, bad("%s:%d: there is no column %q; expected %s%s", file, line, n, strings.Join(needed, ", "), besides)
				}
			}
			continue
		}
		if len(row) != len(head) {
			return nil, nil, bad("%s:%d: expected %d columns, found %d", file, line, len(head), len(row))
		}
		m := map[string]string{}
		for i, v := range row {
			m[head[i]] = strings.TrimSpace(v)
		}
		out, lines = append(out, m), append(lines, line)
	}
	if len(out) == 0 {
		return nil, nil, bad("%s:1:1: the table is empty; expected the columns %s and rows under them", file, strings.Join(needed, ", "))
	}
	return out, lines, nil
}

// yesNo reads a cell that says yes or no; empty is no.
func yesNo(text string) (bool, error) {
	switch strings.ToLower(text) {
	case "yes":
		return true, nil
	case "", "no":
		return false, nil
	}
	return false, fmt.Errorf("%q; expected yes or no", text)
}

// table reads measurements, one a row, and where each stands.
func (l *logDoor) table(file string) (out []logbook.Entry, places []string, err error) {
	if l.at != "" {
		return nil, nil, bad("the table says when each reading was taken; --at has no place beside it")
	}
	ms, lines, err := rows(file, []string{"at", "unit", "quantity", "value"}, []string{"device", "state", "renewed", "text"})
	if err != nil {
		return nil, nil, err
	}
	for i, m := range ms {
		place := fmt.Sprintf("%s:%d", file, lines[i])
		e, err := l.entry(logbook.Measurement, m["unit"])
		if err != nil {
			return nil, nil, err
		}
		if m["at"] == "" {
			return nil, nil, bad("%s: the row does not say when the reading was taken", place)
		}
		if e.At, err = moment(m["at"], e.Written); err != nil {
			return nil, nil, bad("%s: %v", place, err)
		}
		v, err := value(m["value"])
		if err != nil {
			return nil, nil, bad("%s: %v", place, err)
		}
		renewed, err := yesNo(m["renewed"])
		if err != nil {
			return nil, nil, bad("%s: renewed is %v", place, err)
		}
		e.Text, e.Lines = m["text"], []logbook.Line{{What: m["quantity"], Device: m["device"], State: m["state"], Renewed: renewed, Value: v}}
		out, places = append(out, e), append(places, place)
	}
	return out, places, nil
}

func (l *logDoor) add() *cobra.Command {
	var sheet, text string
	var begin bool
	c := l.writes(&cobra.Command{
		Use: "add UNIT FILE", Args: cobra.ExactArgs(2),
		Short: "write down a sheet with its ticks and readings, from a table",
		Long: "Write down a sheet: a walk-round, a brake test. The table (CSV) has the columns what,found and may have device,unit,state,renewed.\n" +
			"found is right, wrong or not seen, a reading with its unit, or both (\"92 mm wrong\"). For a line of another unit of the train,\n" +
			"unit names it. The form that test --form writes is taken as it was filled in; rows left empty are not kept.",
		Example: fmt.Sprintf("  headstock log add '%s' sheet.csv --sheet walk-round --who 'A. Reader' --log mine.db\n"+
			"  headstock log add '%s' readings.csv --sheet 'brake test' --who 'A. Reader' --log mine.db", example("unit"), example("unit")),
		RunE: func(_ *cobra.Command, args []string) error {
			e, err := l.entry(logbook.Sheet, args[0])
			if err != nil {
				return err
			}
			e.Sheet, e.Text = sheet, text
			if e.Lines, err = sheetLines(args[1]); err != nil {
				return err
			}
			return l.writing(func(f *fleet.Fleet, s *sqlite.Store, b *logbook.Book) error { return l.keep(s, b, f, begin, nil, e) })
		},
	})
	c.Flags().StringVar(&sheet, "sheet", "", "which sheet: walk-round, brake test …")
	c.Flags().StringVar(&text, "text", "", "remark")
	c.Flags().BoolVar(&begin, "new", false, "begin measures that this log does not keep yet")
	_ = c.MarkFlagRequired("sheet")
	return c
}

// sheetLines reads a sheet of either form.
func sheetLines(file string) ([]logbook.Line, error) {
	if first, err := firstLine(file); err != nil {
		return nil, err
	} else if strings.EqualFold(strings.ReplaceAll(first, " ", ""), "step,unit,device,value") {
		return testLines(file)
	}
	ms, lines, err := rows(file, []string{"what", "found"}, []string{"device", "unit", "state", "renewed"})
	if err != nil {
		return nil, err
	}
	var out []logbook.Line
	for i, m := range ms {
		line := logbook.Line{What: m["what"], Unit: m["unit"], Device: m["device"], State: m["state"]}
		if line.Tick, line.Value, err = found(m["found"]); err == nil {
			line.Renewed, err = yesNo(m["renewed"])
		}
		if err != nil {
			return nil, bad("%s:%d: %v", file, lines[i], err)
		}
		out = append(out, line)
	}
	return out, nil
}

// testLines reads the filled-in form of a brake test. A pressure is kept as a measure, read
// in the state of its step; what else was seen is kept in its words.
func testLines(file string) ([]logbook.Line, error) {
	ms, _, err := rows(file, []string{"step", "unit", "device", "value"}, nil)
	if err != nil {
		return nil, err
	}
	var out []logbook.Line
	for _, m := range ms {
		line := logbook.Line{What: m["step"], Unit: m["unit"], Device: m["device"], Seen: m["value"]}
		if q, err := quantity.Parse(m["value"]); err == nil && q.Kind == quantity.Pressure {
			line = logbook.Line{What: "pressure", Unit: m["unit"], Device: m["device"], Value: logbook.ValueOf(q), State: m["step"]}
		}
		if m["value"] != "" {
			out = append(out, line)
		}
	}
	if len(out) == 0 {
		return nil, bad("%s: nothing is filled in", file)
	}
	return out, nil
}

// firstLine is the first line of a table that is no remark.
func firstLine(file string) (string, error) {
	b, err := readFile(file)
	if err != nil {
		return "", err
	}
	for line := range strings.Lines(string(b)) {
		if line = strings.TrimSpace(strings.TrimPrefix(line, "\ufeff")); line != "" && line[0] != '#' {
			return line, nil
		}
	}
	return "", nil
}

// found reads a tick, a value, or both: "right", "92 mm", "92 mm wrong".
func found(text string) (logbook.Tick, *logbook.Value, error) {
	tick := logbook.NoTick
	for _, t := range []logbook.Tick{logbook.NotSeen, logbook.Right, logbook.Wrong} {
		if rest, ok := strings.CutSuffix(strings.ToLower(text), string(t)); ok && (rest == "" || strings.HasSuffix(rest, " ")) {
			tick, text = t, strings.TrimSpace(text[:len(rest)])
			break
		}
	}
	if text == "" {
		if tick == logbook.NoTick {
			return tick, nil, errors.New("nothing was found; write not seen where nobody looked")
		}
		return tick, nil, nil
	}
	q, err := quantity.Parse(text)
	if err != nil {
		s := fmt.Sprintf("%q is no tick and no reading (%v); expected right, wrong, not seen, or a reading as in 92 mm", text, err)
		return tick, nil, errors.New(s + reading.Hint(text, []string{string(logbook.Right), string(logbook.Wrong), string(logbook.NotSeen)}))
	}
	return tick, logbook.ValueOf(q), nil
}

func (l *logDoor) defect() *cobra.Command {
	var device, kind string
	c := l.writes(&cobra.Command{
		Use: "defect UNIT TEXT | defect [UNIT]", Args: cobra.MaximumNArgs(2),
		Short:   "write down a defect; without a text, list the open ones",
		Example: fmt.Sprintf("  headstock log defect '%s' 'weeps at the hose' --device third-pipe-hose-1 --who 'A. Reader' --log mine.db\n  headstock log defect '%s' --log mine.db", example("unit"), example("unit")),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) < 2 {
				return l.openDefects(args)
			}
			e, err := l.entry(logbook.Defect, args[0])
			if err != nil {
				return err
			}
			e.Text, e.Device, e.Fault = strings.TrimSpace(args[1]), device, kind
			if kind != "" {
				if device == "" {
					return bad("--kind needs --device: which device is %s", kind)
				}
				f, _, err := l.read()
				if err != nil {
					return err
				}
				_, c, err := logbook.Unit(f, e.Unit)
				if err != nil {
					return exit{2, err.Error()}
				}
				if _, err := prepare.ParseDefect(c, device+"="+kind, ""); err != nil {
					return exit{2, err.Error()}
				}
			}
			return l.writing(func(f *fleet.Fleet, s *sqlite.Store, b *logbook.Book) error { return l.keep(s, b, f, false, nil, e) })
		},
	})
	c.Flags().StringVar(&device, "device", "", "device or element that is defective; absent: the unit as a whole")
	c.Flags().StringVar(&kind, "kind", "", "kind of defect, or the position in which it stands, by which fit finds its rule (the kinds: headstock fit --help)")
	return c
}

func (l *logDoor) openDefects(args []string) error {
	unit, err := l.unit(args)
	if err != nil {
		return err
	}
	b, err := l.book()
	if err != nil {
		return err
	}
	if l.json {
		var es []logbook.Entry
		for _, s := range b.Open(unit) {
			es = append(es, s.Entry)
		}
		return l.entries(es)
	}
	return l.print(card.OpenDefects(b, unit))
}

// unit is the name of a unit that the words name, as the fleet writes it; "" for none.
func (l *logDoor) unit(args []string) (string, error) {
	if len(args) == 0 {
		return "", nil
	}
	f, _, err := l.read()
	if err != nil {
		return "", err
	}
	u, _, err := logbook.Unit(f, args[0])
	if err != nil {
		return "", exit{2, err.Error()}
	}
	return u.Name(), nil
}

// numbered reads the number of an entry and finds it.
func numbered(b *logbook.Book, text string) (int, error) {
	n, err := strconv.Atoi(text)
	if _, ok := b.Find(n); err != nil || !ok {
		last := 0
		if es := b.Entries(); len(es) > 0 {
			last = es[len(es)-1].Number
		}
		return 0, bad("no entry %q; expected a number from 1 to %d", text, last)
	}
	return n, nil
}

func (l *logDoor) closeDefect() *cobra.Command {
	return l.writes(&cobra.Command{
		Use: "close NUMBER TEXT", Args: cobra.ExactArgs(2),
		Short:   "write down that a defect was put right, and how",
		Example: "  headstock log close 12 'hose changed, tried at 500 kPa' --who 'A. Fitter' --log mine.db",
		RunE: func(_ *cobra.Command, args []string) error {
			return l.writing(func(f *fleet.Fleet, s *sqlite.Store, b *logbook.Book) error {
				n, err := numbered(b, args[0])
				if err != nil {
					return err
				}
				d, _, standing, _ := b.Line(n)
				switch {
				case d.Kind != logbook.Defect:
					return bad("entry %d is a %s; only a defect can be closed", n, d.Kind)
				case !standing:
					return bad("entry %d was withdrawn; there is nothing to close", n)
				case !slices.ContainsFunc(b.Open(""), func(x logbook.Standing) bool { return x.First.Number == d.First.Number }):
					return bad("entry %d is closed already; see log show %d", n, n)
				}
				e, err := l.entry(logbook.DefectClosed, d.Unit)
				if err != nil {
					return err
				}
				if e.At.Before(d.At) {
					return bad("the defect is of %s; it cannot have been put right before", d.At.Format("2006-01-02 15:04"))
				}
				e.Text, e.Closes = strings.TrimSpace(args[1]), d.First.ID
				return l.keep(s, b, f, false, nil, e)
			})
		},
	})
}

func (l *logDoor) handover() *cobra.Command {
	var to, text string
	c := l.writes(&cobra.Command{
		Use: "handover UNIT", Args: cobra.ExactArgs(1),
		Short: "what a handover of a unit rests on; with --to, write the handover down",
		Long: "Show what whoever takes over should know from the log: open defects, what was written since the handover before, the last\n" +
			"reading of each measure. With --to NAME the handover is written down afterwards.",
		Example: fmt.Sprintf("  headstock log handover '%s' --log mine.db\n  headstock log handover '%s' --to 'B. Driver' --who 'A. Reader' --text 'sand low at the rear' --log mine.db", example("unit"), example("unit")),
		RunE: func(_ *cobra.Command, args []string) error {
			unit, err := l.unit(args)
			if err != nil {
				return err
			}
			if to == "" {
				b, err := l.book()
				if err != nil {
					return err
				}
				return l.handed(b, unit)
			}
			return l.writing(func(f *fleet.Fleet, s *sqlite.Store, b *logbook.Book) error {
				e, err := l.entry(logbook.Handover, unit)
				if err != nil {
					return err
				}
				e.To, e.Text = to, text
				for _, d := range b.Open(unit) {
					e.Refs = append(e.Refs, d.First.ID)
				}
				done, err := l.hold(s, b, f, false, nil, e)
				if err != nil {
					return err
				}
				if l.json {
					return l.entries(done)
				}
				doc := card.HandedOver(b, b.Summary(unit), l.u())
				card.HandedTo(doc, done[0])
				return l.print(doc)
			})
		},
	})
	c.Flags().StringVar(&to, "to", "", "name of who takes over")
	c.Flags().StringVar(&text, "text", "", "what is said at the handover")
	return c
}

func (l *logDoor) handed(b *logbook.Book, unit string) error {
	s := b.Summary(unit)
	if !l.json {
		return l.print(card.HandedOver(b, s, l.u()))
	}
	entries := func(ss []logbook.Standing) []logbook.Entry {
		out := []logbook.Entry{}
		for _, x := range ss {
			out = append(out, x.Entry)
		}
		return out
	}
	a := struct {
		Caution  string            `json:"caution"`
		Unit     string            `json:"unit"`
		Last     *logbook.Entry    `json:"last_handover,omitempty"`
		Open     []logbook.Entry   `json:"open_defects"`
		Since    []logbook.Entry   `json:"since"`
		Undone   []logbook.Entry   `json:"withdrawals"`
		Readings []logbook.Reading `json:"last_readings"`
	}{Caution: card.Caution, Unit: unit, Open: entries(s.Open), Since: entries(s.Since), Undone: append([]logbook.Entry{}, s.Withdrawn...), Readings: append([]logbook.Reading{}, s.Read...)}
	if s.Last != nil {
		a.Last = &s.Last.Entry
	}
	return l.printJSON(a)
}

func (l *logDoor) correct() *cobra.Command {
	var why, unit, text, device, state, val, quantityName, to string
	var withdraw, renewed bool
	var lineNo int
	c := l.writes(&cobra.Command{
		Use: "correct NUMBER --why TEXT", Args: cobra.ExactArgs(1),
		Short: "put an entry right, or withdraw it, by a further entry; the earlier one stays",
		Long: "Write an entry that stands in for an earlier one. What is not said stays as it was. --line names the line of a sheet whose value,\n" +
			"quantity, device, state or renewal is put right. --withdraw says that the entry should never have been written.",
		Example: "  headstock log correct 12 --why 'misread the rule' --value '95 mm' --who 'A. Reader' --log mine.db\n" +
			"  headstock log correct 12 --why 'wrong locomotive' --withdraw --who 'A. Reader' --log mine.db",
		RunE: func(c *cobra.Command, args []string) error {
			return l.writing(func(f *fleet.Fleet, s *sqlite.Store, b *logbook.Book) error {
				n, err := numbered(b, args[0])
				if err != nil {
					return err
				}
				was, last, standing, _ := b.Line(n)
				if !standing {
					return bad("entry %d was withdrawn by entry %d; write a new one", n, last.Number)
				}
				set := c.Flags().Changed
				fresh, err := l.entry(logbook.Correction, was.Unit)
				if err != nil {
					return err
				}
				e := was.Entry
				e.Number, e.Previous, e.Hash = 0, "", ""
				e.Kind, e.ID, e.Written, e.Who = logbook.Correction, fresh.ID, fresh.Written, fresh.Who
				if set("at") {
					e.At = fresh.At
				}
				e.Supersedes, e.Why, e.Withdrawn = last.ID, strings.TrimSpace(why), withdraw
				if set("unit") {
					e.Unit = unit
				}
				if set("text") {
					e.Text = strings.TrimSpace(text)
				}
				if set("to") {
					e.To = to
				}
				ofLine := set("value") || set("quantity") || set("state") || set("renewed")
				switch {
				case ofLine && len(e.Lines) == 0:
					return bad("entry %d is a %s and has no reading to put right", n, was.Kind)
				case set("device") && len(e.Lines) == 0:
					e.Device = device
				case (ofLine || set("device")) && len(e.Lines) > 1 && !set("line"):
					return bad("entry %d has %d lines; say which with --line; see log show %d", n, len(e.Lines), n)
				case ofLine || set("device"):
					if lineNo < 1 || lineNo > len(e.Lines) {
						return bad("entry %d has the lines 1 to %d", n, len(e.Lines))
					}
					e.Lines = slices.Clone(e.Lines)
					x := &e.Lines[lineNo-1]
					if set("value") {
						if x.Tick, x.Value, err = found(val); err != nil {
							return bad("%v", err)
						}
					}
					if set("quantity") {
						x.What = quantityName
					}
					if set("device") {
						x.Device = device
					}
					if set("state") {
						x.State = state
					}
					if set("renewed") {
						x.Renewed = renewed
					}
				}
				if withdraw {
					e.Lines = nil
				}
				return l.keep(s, b, f, false, nil, e)
			})
		},
	})
	fl := c.Flags()
	fl.Lookup("at").Usage = "when it was so, UTC; absent: as the entry says"
	fl.StringVar(&why, "why", "", "what was wrong")
	fl.BoolVar(&withdraw, "withdraw", false, "the entry should never have been written")
	fl.StringVar(&unit, "unit", "", "the right unit")
	fl.StringVar(&text, "text", "", "the right text")
	fl.StringVar(&to, "to", "", "of a handover: the right name")
	fl.IntVar(&lineNo, "line", 1, "line of the sheet")
	fl.StringVar(&quantityName, "quantity", "", "the right quantity")
	fl.StringVar(&val, "value", "", "the right reading or tick")
	fl.StringVar(&device, "device", "", "the right device or element")
	fl.StringVar(&state, "state", "", "the right state it was read in")
	fl.BoolVar(&renewed, "renewed", false, "something was renewed or adjusted before this reading")
	_ = c.MarkFlagRequired("why")
	return c
}

func (l *logDoor) list() *cobra.Command {
	var kind, since, until, device string
	c := &cobra.Command{
		Use: "list [UNIT]", Args: cobra.MaximumNArgs(1),
		Short:   "list entries, of one unit or of all",
		Example: fmt.Sprintf("  headstock log list --log mine.db\n  headstock log list '%s' --kind defect --since 2026-09-01 --log mine.db", example("unit")),
		RunE: func(_ *cobra.Command, args []string) error {
			unit, err := l.unit(args)
			if err != nil {
				return err
			}
			if k := logbook.Kind(kind); kind != "" && !slices.Contains(logbook.Kinds(), k) {
				var names []string
				for _, k := range logbook.Kinds() {
					names = append(names, string(k))
				}
				return bad("no kind of entry %q; expected one of: %s%s", kind, strings.Join(names, ", "), reading.Hint(kind, names))
			}
			ask := logbook.Filter{Unit: unit}
			if kind != "" {
				ask.Kinds = []logbook.Kind{logbook.Kind(kind)}
			}
			if since != "" {
				if ask.From, err = moment(since, time.Time{}); err != nil {
					return err
				}
			}
			if until != "" {
				if ask.To, err = moment(until, time.Time{}); err != nil {
					return err
				}
				if _, err := calendar.Parse(until); err == nil {
					ask.To = ask.To.AddDate(0, 0, 1).Add(-time.Second) // the whole day
				}
			}
			b, err := l.book()
			if err != nil {
				return err
			}
			var es []logbook.Entry
			for _, e := range b.Entries() {
				on := device == "" || e.Device == device || slices.ContainsFunc(e.Lines, func(x logbook.Line) bool { return x.Device == device })
				if on && ask.Passes(e) {
					es = append(es, e)
				}
			}
			if l.json {
				return l.entries(es)
			}
			title := "Logbook"
			if unit != "" {
				title += " of " + unit
			}
			return l.print(card.Log(b, es, title, l.u()))
		},
	}
	c.Flags().StringVar(&kind, "kind", "", "sheet, measurement, defect, 'defect closed', handover or correction")
	c.Flags().StringVar(&since, "since", "", "from this day or time on, UTC")
	c.Flags().StringVar(&until, "until", "", "up to this day or time, UTC")
	c.Flags().StringVar(&device, "device", "", "about this device or element")
	return c
}

func (l *logDoor) show() *cobra.Command {
	return &cobra.Command{
		Use: "show NUMBER", Args: cobra.ExactArgs(1),
		Short:   "one entry in full, with its corrections and closings",
		Example: "  headstock log show 12 --log mine.db",
		RunE: func(_ *cobra.Command, args []string) error {
			b, err := l.book()
			if err != nil {
				return err
			}
			n, err := numbered(b, args[0])
			if err != nil {
				return err
			}
			if l.json {
				return l.entries(b.History(n))
			}
			return l.print(card.Entry(b, n, l.u()))
		},
	}
}

func (l *logDoor) export() *cobra.Command {
	return &cobra.Command{
		Use: "export", Args: cobra.NoArgs,
		Short: "write every entry as tables (CSV, or --format) or as JSON (--json), to standard output",
		Long: "Write everything the logbook holds in an open form: as two tables, entries and lines, comma-separated unless --format says\n" +
			"otherwise; with --json each entry as it is kept, with its hash.",
		Example: "  headstock log export --log mine.db > logbook.csv\n  headstock log export --json --log mine.db > logbook.json",
		RunE: func(c *cobra.Command, _ []string) error {
			b, err := l.book()
			if err != nil {
				return err
			}
			if l.json {
				return l.entries(b.Entries())
			}
			if !c.Flags().Changed("format") {
				l.format = "csv"
			}
			return l.print(card.LogTables(b.Entries()))
		},
	}
}

// report is what check, backup and restore print as JSON.
type report struct {
	Caution string `json:"caution"`
	File    string `json:"file"`
	sqlite.Report
	Kept string `json:"kept,omitempty"`
}

func (l *logDoor) reported(file string, r sqlite.Report, kept string, doc *card.Document) error {
	if r.Faults == nil {
		r.Faults = []string{}
	}
	if l.json {
		return l.printJSON(report{card.Caution, file, r, kept})
	}
	return l.print(doc)
}

func (l *logDoor) check() *cobra.Command {
	var head string
	c := &cobra.Command{
		Use: "check", Args: cobra.NoArgs,
		Short: "is the logbook whole: the file sound, no entry changed, none lost?",
		Long: "Check the file and the chain of hashes through its entries. That none is lost at the end shows only against the last hash of an\n" +
			"earlier day, kept elsewhere (on paper, in a handover): give it with --head; it must still be in the log.",
		Example: "  headstock log check --log mine.db\n  headstock log check --head 3f5a9c… --log mine.db",
		RunE: func(*cobra.Command, []string) error {
			path, err := l.path()
			if err != nil {
				return err
			}
			s, err := sqlite.Read(path)
			if err != nil {
				return exit{2, err.Error()}
			}
			defer s.Close()
			r, err := s.Check()
			if err != nil {
				return exit{2, err.Error()}
			}
			if head = strings.TrimSuffix(strings.ToLower(head), "…"); head != "" {
				if len(head) < 8 {
					return bad("%q is too short for a hash; give at least 8 of its digits", head)
				}
				b, err := booked(s)
				if err != nil {
					return err
				}
				if !slices.ContainsFunc(b.Entries(), func(e logbook.Entry) bool { return strings.HasPrefix(e.Hash, head) }) {
					r.Faults = append(r.Faults, "no entry has the hash "+head+" that was kept elsewhere: entries are lost at the end, or all was written anew")
				}
			}
			if err := l.reported(path, r, "", card.LogChecked(path, r.Entries, r.Head, r.Faults)); err != nil {
				return err
			}
			if len(r.Faults) > 0 {
				return exit{code: 1}
			}
			return nil
		},
	}
	c.Flags().StringVar(&head, "head", "", "a last hash that was kept elsewhere, or its first digits")
	return c
}

func (l *logDoor) backup() *cobra.Command {
	return &cobra.Command{
		Use: "backup FILE", Args: cobra.ExactArgs(1),
		Short:   "check the logbook and write a copy of it, which is checked too; it may be in use",
		Example: "  headstock log backup 2026-10-03.db --log mine.db",
		RunE: func(_ *cobra.Command, args []string) error {
			path, err := l.path()
			if err != nil {
				return err
			}
			s, err := sqlite.Read(path)
			if err != nil {
				return exit{2, err.Error()}
			}
			defer s.Close()
			r, err := s.Backup(args[0])
			if err != nil {
				return exit{1, err.Error()}
			}
			doc := card.LogChecked(args[0], r.Entries, r.Head, r.Faults)
			doc.Title = "Backup of " + path
			return l.reported(args[0], r, "", doc)
		},
	}
}

func (l *logDoor) restore() *cobra.Command {
	var replace bool
	c := &cobra.Command{
		Use: "restore FILE", Args: cobra.ExactArgs(1),
		Short: "check a backup and put it in the place of the logbook",
		Long: "Check a backup (the file, its tables, its chain) and put a copy in the place of the logbook. A logbook that stands there is kept\n" +
			"beside it. If that holds entries which the backup lacks, it is replaced only with --replace.",
		Example: "  headstock log restore 2026-10-03.db --log mine.db",
		RunE: func(_ *cobra.Command, args []string) error {
			path, err := l.path()
			if err != nil {
				return err
			}
			r, err := sqlite.Restore(args[0], path, replace)
			if err != nil {
				return exit{1, err.Error()}
			}
			doc := card.LogChecked(path, r.Entries, r.Head, r.Faults)
			doc.Title = "Restored from " + args[0]
			if r.Kept != "" {
				doc.Facts(card.Fact{Name: "the logbook before", Text: r.Kept})
			}
			return l.reported(path, r.Report, r.Kept, doc)
		},
	}
	c.Flags().BoolVar(&replace, "replace", false, "even when the logbook holds entries that the backup lacks")
	return c
}
