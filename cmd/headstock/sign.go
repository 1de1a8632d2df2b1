package main

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/fleet"
	"headstock/rule"
)

func (d *door) sign() *cobra.Command {
	var by, date string
	c := &cobra.Command{
		Use: "sign FOLDER CLASS draft|checked|issued", Args: cobra.ExactArgs(3),
		Short: "mark a record as checked by a second person, issued, or a draft again",
		Long: "sign writes the revision of a class record, and nothing else of it.\n\n" +
			"checked: by a second named person, who has held the record against the machine. issued: for use, by anybody but who wrote it. " +
			"Both refuse while the folder has complaints. The revision keeps a sum of what was checked: after any change of content the record is a draft again, and everything printed from it says so. " +
			"draft: taken back for work, by who now writes it.",
		Example: "  headstock sign my-railway Curlew checked --by 'A. Second'\n  headstock sign my-railway Curlew issued --by 'A. Third'",
		RunE: func(_ *cobra.Command, args []string) error {
			if date == "" {
				date = time.Now().Format("2006-01-02")
			}
			d.folder = args[0]
			_, more := rule.Read(d.files())
			if len(more) > 0 {
				d.complain(more)
				return bad("the record of class %s is not signed: the folder has %d complaints", args[1], len(more))
			}
			file, text, complaints, err := fleet.Sign(d.files(), args[1], fleet.Signature{State: args[2], By: by, Date: date})
			if len(complaints) > 0 {
				d.complain(complaints)
				return bad("the record of class %s is not signed: the folder has %d complaints", args[1], len(complaints))
			}
			if err != nil {
				return exit{2, err.Error()}
			}
			if err := writeFile(filepath.Join(args[0], filepath.FromSlash(file)), text, os.FileMode(0o644)); err != nil {
				return exit{2, err.Error()}
			}
			f, complaints := fleet.Read(d.files())
			if len(complaints) > 0 { // the day, for one, may be no day
				d.complain(complaints)
				return bad("%s was written and has complaints now", file)
			}
			k, _ := f.Class(args[1])
			if d.json {
				return d.printJSON(map[string]any{"caution": card.Caution, "class": k.Name, "file": file, "state": k.Revision.State, "by": k.Revision.By, "checked_by": k.Revision.CheckedBy, "issued_by": k.Revision.IssuedBy, "date": k.Revision.Date, "content": k.Content})
			}
			state, _ := k.Standing()
			fmt.Fprintf(d.out, "%s is %s: %s, %s\n", k.Name, state, file, date)
			return nil
		},
	}
	c.Flags().StringVar(&by, "by", "", "the name of the person who signs")
	c.Flags().StringVar(&date, "date", "", "the day, as 2026-03-01; absent: today")
	_ = c.MarkFlagRequired("by")
	return c
}
