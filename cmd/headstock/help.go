package main

import (
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"headstock/card"
	"headstock/internal/reading"
)

// proseWidth is how wide text is written where nobody says otherwise, columns.
const proseWidth = 88

// columns is how wide this terminal can be written on; elsewhere the usual width.
func screenWidth(terminal bool) int {
	if !terminal {
		return proseWidth
	}
	n, _, err := term.GetSize(int(os.Stdout.Fd()))
	if err != nil || n <= 0 {
		return proseWidth
	}
	return min(max(n, leastWidth), proseWidth)
}

// group is a heading of the list of commands and what stands beneath it.
type group struct {
	id, title string
	commands  []string
}

// groups are the commands by what a person is about; one that is named in none of them is
// listed at the end.
func groups() []group {
	return []group{
		{"find", "Find and learn", []string{"list", "find", "explain", "compare", "learn", "envelope"}},
		{"unit", "One unit: look over, start, measure, decide", []string{"walk", "measure", "steps", "crank", "trips", "fit", "log", "drift", "calibrate"}},
		{"train", "Couple, set up and prove the brake", []string{"coupling", "card", "test", "judge", "if", "why", "jumper", "search", "coverage", "diagnose", "matrix", "run"}},
		{"haul", "Haul, stop, come down, hold", []string{"route", "load", "move-off", "pull", "journey", "profile", "stop", "run-in", "descend", "hold"}},
		{"record", "Write the records", []string{"new", "check", "needs", "table", "schema", "sign"}},
		{"rest", "Pages, and the program itself", []string{"serve", "takeaway", "certificate", "demo", "completion", "help"}},
	}
}

// helping gives every command help that fits the terminal, with the caution at its end.
func (d *door) helping(root *cobra.Command) {
	root.SetHelpCommand(&cobra.Command{
		Use: "help [COMMAND]", Short: "what a command does, with examples and all its flags",
		ValidArgsFunction: func(c *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
			return commandNames(c.Root()), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(c *cobra.Command, args []string) error {
			of, left, err := c.Root().Find(args)
			if err != nil {
				return unknownCommand(c.Root(), args[0])
			}
			if len(left) > 0 {
				return unknownCommand(of, left[0])
			}
			of.InitDefaultHelpFlag()
			return of.Help()
		},
	})
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	for _, c := range root.Commands() {
		if c.Name() == "completion" {
			c.Short = "a script that lets your shell complete commands and flags"
			c.Long = "Writes a script for one shell; the help of each says how it is taken into use."
			c.Args = cobra.ArbitraryArgs
			c.RunE = func(c *cobra.Command, args []string) error {
				if len(args) > 0 {
					return unknownCommand(c, args[0])
				}
				return c.Help()
			}
		}
	}
	root.SetHelpFunc(func(c *cobra.Command, _ []string) {
		width := d.width
		if width < leastWidth {
			width = screenWidth(d.terminal)
		}
		io.WriteString(c.OutOrStdout(), helpOf(c, width)) // the writer keeps what went wrong
	})
}

// commandNames are the names of the commands under one.
func commandNames(c *cobra.Command) []string {
	var out []string
	for _, sub := range c.Commands() {
		if sub.IsAvailableCommand() || sub.Name() == "help" {
			out = append(out, sub.Name())
		}
	}
	return out
}

// unknownCommand is the error of a word that is no command.
func unknownCommand(c *cobra.Command, word string) error {
	return bad("%s has no command %q%s; %s help lists them", c.CommandPath(), reading.Short(word), reading.Hint(word, commandNames(c)), c.Root().Name())
}

// helpOf is the help of a command, no wider than so many columns.
func helpOf(c *cobra.Command, width int) string {
	var b strings.Builder
	long := strings.TrimSpace(strings.ReplaceAll(c.Long, card.Caution, ""))
	if long == "" {
		long = c.Short
	}
	b.WriteString(wrapped(long, width))
	b.WriteString("\nUsage:\n")
	parent := ""
	if c.HasParent() {
		parent = c.Parent().CommandPath() + " "
	}
	use := c.Use
	if c.HasAvailableSubCommands() {
		use += " COMMAND"
	}
	// several ways to call it are parted by bars, each with the name of the command
	name := c.Name()
	for _, way := range strings.Split(strings.ReplaceAll(use, " | "+name, "\n"+name), "\n") {
		b.WriteString(hanging("  "+parent+way+" [flags]", "      ", width))
	}
	if c.Example != "" {
		b.WriteString("\nExamples:\n")
		for _, l := range strings.Split(strings.TrimRight(c.Example, "\n"), "\n") {
			b.WriteString(continued(l, width))
		}
	}
	if c.HasAvailableSubCommands() {
		listed(&b, c, width)
	}
	flags(&b, "Flags", c.LocalFlags(), width)
	flags(&b, "Flags of every command", c.InheritedFlags(), width)
	if c.HasAvailableSubCommands() {
		b.WriteString(hanging("\n"+c.CommandPath()+" COMMAND --help says more of each.", "", width))
	}
	b.WriteString("\n" + wrapped(card.Caution, width))
	return b.String()
}

// listed writes the commands under one, of the program itself under their headings.
func listed(b *strings.Builder, c *cobra.Command, width int) {
	wide, left := 0, commandNames(c)
	for _, n := range left {
		wide = max(wide, utf8.RuneCountInString(n))
	}
	shorts := map[string]string{}
	for _, sub := range c.Commands() {
		shorts[sub.Name()] = sub.Short
	}
	put := func(title string, names []string) {
		some := false
		for _, n := range names {
			if !slices.Contains(left, n) {
				continue
			}
			if !some {
				fmt.Fprintf(b, "\n%s:\n", title)
				some = true
			}
			left = slices.DeleteFunc(left, func(x string) bool { return x == n })
			b.WriteString(hanging(fmt.Sprintf("  %-*s  %s", wide, n, shorts[n]), strings.Repeat(" ", wide+4), width))
		}
	}
	if !c.HasParent() {
		for _, g := range groups() {
			put(g.title, g.commands)
		}
		put("More", slices.Clone(left))
		return
	}
	put("Commands", slices.Clone(left))
}

// flags writes flags under a heading: what each is followed by in plain words, and what
// holds where it is left out.
func flags(b *strings.Builder, title string, set *pflag.FlagSet, width int) {
	type line struct{ flag, says string }
	var lines []line
	wide := 0
	set.VisitAll(func(f *pflag.Flag) {
		l := line{"--" + f.Name, f.Usage}
		switch f.Value.Type() {
		case "bool":
		case "int", "uint", "uint64", "float64":
			l.flag += " NUMBER"
		default:
			l.flag += " TEXT"
		}
		if f.Name == "help" {
			l = line{"--help, -h", "this text"}
		} else if f.Value.Type() != "bool" && !slices.Contains([]string{"", "0", "[]"}, f.DefValue) && !strings.Contains(f.Usage, "absent") {
			l.says += "; absent: " + f.DefValue
		}
		lines = append(lines, l)
		wide = max(wide, utf8.RuneCountInString(l.flag))
	})
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(b, "\n%s:\n", title)
	for _, l := range lines {
		b.WriteString(hanging(fmt.Sprintf("  %-*s  %s", wide, l.flag, l.says), strings.Repeat(" ", min(wide+4, width/2)), width))
	}
}

// wrapped lays paragraphs out in a width; lines that are set in stay lines.
func wrapped(text string, width int) string {
	var b strings.Builder
	for i, p := range strings.Split(text, "\n\n") {
		if i > 0 {
			b.WriteByte('\n')
		}
		var prose []string
		flush := func() {
			if len(prose) > 0 {
				b.WriteString(hanging(strings.Join(prose, " "), "", width))
				prose = nil
			}
		}
		for _, l := range strings.Split(p, "\n") {
			if strings.HasPrefix(l, "  ") {
				flush()
				b.WriteString(hanging(l, "      ", width))
				continue
			}
			prose = append(prose, l)
		}
		flush()
	}
	return b.String()
}

// hanging breaks a line between words; what follows the first is set in.
func hanging(line, indent string, width int) string {
	var b strings.Builder
	at := 0
	rest := line
	for i := 0; ; i++ {
		gap := len(rest) - len(strings.TrimLeft(rest, " "))
		word := rest[gap:]
		if word == "" {
			break
		}
		if end := strings.IndexByte(word, ' '); end >= 0 {
			word = word[:end]
		}
		rest = rest[gap+len(word):]
		n := utf8.RuneCountInString(word)
		if i > 0 && at+gap+n > width {
			b.WriteString("\n" + indent)
			at = utf8.RuneCountInString(indent)
		} else {
			b.WriteString(strings.Repeat(" ", gap))
			at += gap
		}
		b.WriteString(word)
		at += n
	}
	b.WriteByte('\n')
	return b.String()
}

// continued breaks an example before a flag, so that it can still be pasted.
func continued(line string, width int) string {
	parts := strings.Split(line, " --")
	out, at := parts[0], utf8.RuneCountInString(parts[0])
	for _, p := range parts[1:] {
		n := utf8.RuneCountInString(p) + len(" --")
		if at+n+len(" \\") > width {
			out, at = out+" \\\n     ", len("     ")
		}
		out, at = out+" --"+p, at+n
	}
	return out + "\n"
}

// kept is a writer that keeps the first thing that went wrong, for those who write and do
// not ask.
type kept struct {
	w   io.Writer
	err error
}

func (k *kept) Write(b []byte) (int, error) {
	n, err := k.w.Write(b)
	if err != nil && k.err == nil {
		k.err = err
	}
	return n, err
}
