package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"time"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/consist"
	"headstock/rule"
	"headstock/setup"
	"headstock/trial"
	"headstock/web"
)

func (d *door) search() *cobra.Command {
	var opt setup.Options
	var table, found bool
	var results string
	cmd := d.onConsist(&cobra.Command{
		Use:   "search CONSIST",
		Short: "everything that can be set wrong or fail here: what it breaks, where you would see it, and where you would not",
		Long: "Every other position of every device is run, set up wrong and moved since; with --failures every part that can fail, and with --pairs every two wrong settings. " +
			"Settings that make the same network of air are run once.\n\nWith --results the runs are kept in a file as they end, and a search that was cut off goes on from it.",
		Example: fmt.Sprintf("  headstock search '%s'\n  headstock search '%s' --failures --table --format csv\n  headstock search '%s' --pairs --results pairs.jsonl", example("pair"), example("pair"), example("pair")),
	}, func(c *consist.Consist, r *rule.Rules, _ []string) error {
		began := time.Now()
		base, err := setup.NewBase(c, r, trial.Conditions{})
		if err != nil {
			return unproved(err)
		}
		if base.Proof().Test == nil {
			return d.untested(base.Proof())
		}
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		if results != "" {
			f, before, err := resultsFile(results)
			if err != nil {
				return err
			}
			defer f.Close()
			defer before.Close()
			opt.Before, opt.After = before, f
		}
		if d.colour {
			opt.Progress = func(done, of int) {
				if done == of || done%10 == 0 {
					fmt.Fprintf(d.err, "\r%d of %d proofs, %d s ", done, of, int(time.Since(began).Seconds()))
				}
			}
		}
		all, err := base.Search(ctx, opt)
		if d.colour {
			fmt.Fprintln(d.err)
		}
		if errors.Is(err, context.Canceled) {
			if results == "" {
				return bad("cut off; with --results it could go on from there")
			}
			return bad("cut off; the same command goes on from %s", results)
		}
		if errors.Is(err, setup.ErrResults) {
			return bad("%s: %v", results, err)
		}
		if err != nil {
			return unproved(err)
		}
		took := time.Since(began)
		var doc *card.Document
		if table {
			doc = card.SearchTable(c, all, base.Proof(), r, d.u())
		} else {
			doc = card.Search(c, all, base.Proof(), r, d.u())
		}
		positions := all.Positions()
		if found {
			card.Positions(doc, positions)
		}
		fmt.Fprintf(d.err, "%d runs in %.1f s\n", all.Counts.Runs, took.Seconds())
		if d.json {
			if err := d.printer.print(doc); err != nil {
				return err
			}
			err = d.printJSON(struct {
				Caution string `json:"caution"`
				*setup.Found
				Positions setup.FoundPositions `json:"positions_found"`
				Records   []web.Record         `json:"records"`
				Rules     string               `json:"rules"`
			}{card.Caution, all, positions, web.Records(c), r.Title})
		} else {
			err = d.print(doc)
		}
		if err != nil {
			return err
		}
		return status(base.Proof())
	})
	f := cmd.Flags()
	f.BoolVar(&opt.Pairs, "pairs", false, "every two wrong settings too; takes minutes")
	f.BoolVar(&opt.Failures, "failures", false, "every part that can fail too")
	f.BoolVar(&table, "table", false, "as a table with the columns of IEC 60812, all of it")
	f.BoolVar(&found, "positions", false, "also what the requirements alone ask of each device, beside the claim")
	f.StringVar(&results, "results", "", "file that keeps the runs; a search that was cut off goes on from it")
	return cmd
}

// lines is a file to which whole lines are added, each on the disk when Write returns.
type lines struct{ *os.File }

func (l lines) Write(b []byte) (int, error) {
	n, err := l.File.Write(b)
	if err == nil {
		err = l.Sync()
	}
	return n, err
}

// resultsFile opens a results file to be read from its start and added to at its end. What
// a cut left of a last line is taken off, so that the next begins on its own.
func resultsFile(name string) (io.WriteCloser, io.ReadCloser, error) {
	f, err := os.OpenFile(name, os.O_CREATE|os.O_RDWR|os.O_APPEND, 0o644)
	if err != nil {
		return nil, nil, unreadable(err)
	}
	st, err := f.Stat()
	if err != nil {
		return nil, nil, unreadable(err)
	}
	if !st.Mode().IsRegular() {
		f.Close()
		return nil, nil, bad("%q is no file that a search can add to", name)
	}
	size := st.Size()
	for b := make([]byte, 1); size > 0; size-- {
		if _, err := f.ReadAt(b, size-1); err != nil {
			return nil, nil, unreadable(err)
		}
		if b[0] == '\n' {
			break
		}
	}
	if size < st.Size() {
		if size == 0 { // no line at all: nothing of ours
			f.Close()
			return nil, nil, bad("%q is no results file of a search", name)
		}
		if err := f.Truncate(size); err != nil {
			return nil, nil, unreadable(err)
		}
	}
	before, err := os.Open(name)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, unreadable(err)
	}
	return lines{f}, before, nil
}
