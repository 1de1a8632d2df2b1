package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"headstock/card"
	"headstock/paper"
	"headstock/paper/xlsx"
)

// printer puts documents into files: printed, or their tables as a workbook.
type printer struct {
	file, paper, base string
	book              string // the workbook file
	path              string // of this answer below base
	printed           int
}

func (p *printer) flags(f *pflag.FlagSet) {
	f.StringVar(&p.file, "pdf", "", "print to this PDF file instead of the screen")
	f.StringVar(&p.paper, "paper", "A4", "with --pdf: "+strings.Join(paper.Papers(), ", ")+" (A6 folds out of A4 into a pocket card)")
	f.StringVar(&p.book, "xlsx", "", "put the tables into this workbook file instead of on the screen")
	f.StringVar(&p.base, "base", os.Getenv("HEADSTOCK_BASE"), "address at which others reach the pages of serve: square codes on paper and on pages carry it with the question (also HEADSTOCK_BASE)")
}

func (p *printer) asked() bool { return p.file != "" || p.book != "" }

// print writes a document to the files, if there are to be any.
func (p *printer) print(doc *card.Document) error {
	if !p.asked() {
		return nil
	}
	if p.book != "" && p.book == p.file {
		return bad("--pdf and --xlsx both name %q; expected a file for each", p.book)
	}
	if p.printed++; p.printed > 1 {
		return bad("this command prints several documents, and a file holds one; ask for each by its own command")
	}
	if p.book != "" {
		var b bytes.Buffer
		if err := xlsx.Write(&b, doc); err != nil {
			return err
		}
		if err := writeFile(p.book, b.Bytes(), 0o644); err != nil {
			return exit{2, err.Error()}
		}
	}
	if p.file == "" {
		return nil
	}
	sheet := paper.Sheet{Paper: strings.ToUpper(p.paper)}
	if p.base != "" {
		if _, err := baseAddress(p.base); err != nil {
			return err
		}
		sheet.Code = strings.TrimRight(p.base, "/") + p.path
	}
	var b bytes.Buffer
	if err := paper.PDF(&b, doc, sheet); err != nil {
		if errors.Is(err, paper.ErrPaper) {
			return bad("--paper: %v", err)
		}
		return err
	}
	if err := writeFile(p.file, b.Bytes(), 0o644); err != nil {
		return exit{2, err.Error()}
	}
	return nil
}

// baseAddress reads the address at which others reach the pages.
func baseAddress(text string) (*url.URL, error) {
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Hostname() == "" || u.User != nil || u.RawQuery != "" || u.Fragment != "" {
		return nil, bad("--base wants an address such as https://headstock.example or https://192.168.4.1:8443, found %q", text)
	}
	return u, nil
}

func (p *printer) say(out io.Writer, width int) error {
	for _, name := range []string{p.file, p.book} {
		if name == "" {
			continue
		}
		if _, err := fmt.Fprintln(out, "wrote "+name); err != nil {
			return err
		}
	}
	_, err := io.WriteString(out, wrapped(card.Caution, width))
	return err
}

// unused complains when a file was asked for and the command prints no document.
func (p *printer) unused(ran *cobra.Command) error {
	if !p.asked() || p.printed > 0 || ran.Name() == "help" || !ran.HasParent() {
		return nil
	}
	return bad("%s prints no document, so there is nothing for %s", ran.CommandPath(), strings.TrimSpace(p.file+" "+p.book))
}

// argument is what a command takes, by its name; of a choice the first.
var argument = regexp.MustCompile(`\b([A-Z]{3,})(?:\|[A-Z]{3,})*`)

// ask notes the question that a command answers as a path: /card?consist=…
func (p *printer) ask(cmd *cobra.Command, args []string) {
	first, _, _ := strings.Cut(cmd.Use, " | ")
	names := argument.FindAllStringSubmatch(first, -1)
	q := url.Values{}
	for i, a := range args {
		if i == len(names)-1 {
			a = strings.Join(args[i:], " ") // words that the shell has parted
		}
		if i < len(names) {
			q.Add(strings.ToLower(names[i][1]), a)
		}
	}
	cmd.LocalNonPersistentFlags().Visit(func(f *pflag.Flag) {
		if list, ok := f.Value.(pflag.SliceValue); ok {
			q[f.Name] = list.GetSlice()
			return
		}
		q.Set(f.Name, f.Value.String())
	})
	p.path = "/" + cmd.Name()
	if len(q) > 0 {
		p.path += "?" + q.Encode()
	}
}

// writeNew writes a file that must not be there yet; one that is there is left as it is.
func writeNew(name string, data []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return bad("%q is there already, and is left as it is", name)
	}
	if err != nil {
		return unreadable(err)
	}
	_, err = f.Write(data)
	if err = errors.Join(err, f.Close()); err != nil {
		os.Remove(name) // half of it would be taken for the whole, and never written over
		return fmt.Errorf("cannot write %q: %w", name, bare(err))
	}
	return nil
}

// writeFile puts a whole file in place or leaves what was there: the bytes are written
// beside it, brought to the disk, and then given its name. What is no plain file, such as a
// pipe, is written to as it is; a link stays one. An error names the file.
func writeFile(name string, data []byte, mode os.FileMode) error {
	st, err := os.Stat(name)
	switch {
	case err == nil && st.IsDir():
		return fmt.Errorf("cannot write %q: it is a folder", name)
	case err == nil && !st.Mode().IsRegular():
		err = os.WriteFile(name, data, mode)
	case err == nil:
		target := name
		if to, e := filepath.EvalSymlinks(name); e == nil {
			target = to
		}
		err = replaceFile(target, data, st.Mode().Perm())
	default:
		err = replaceFile(name, data, mode)
	}
	if err != nil {
		return fmt.Errorf("cannot write %q: %w", name, bare(err))
	}
	return nil
}

// bare is what went wrong with a file, without a name that nobody gave.
func bare(err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return p.Err
	case errors.As(err, &l):
		return l.Err
	}
	return err
}

func replaceFile(name string, data []byte, mode os.FileMode) error {
	dir := filepath.Dir(name)
	f, err := os.CreateTemp(dir, "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // gone already where all went well
	_, err = f.Write(data)
	if err == nil {
		err = f.Chmod(mode)
	}
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return err
	}
	if d, err := os.Open(dir); err == nil { // the name itself, where the system can
		_ = d.Sync()
		_ = d.Close()
	}
	return nil
}
