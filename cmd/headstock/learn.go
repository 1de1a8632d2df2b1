package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/prepare"
	"headstock/teach"
	"headstock/trial"
)

func (d *door) learn() *cobra.Command {
	var from string
	var only bool
	cmd := &cobra.Command{
		Use: "learn CLASS", Args: cobra.ExactArgs(1),
		Short:   "the first walk round a class; with --from, what differs from a class the crew knows, ranked by danger",
		Example: fmt.Sprintf("  headstock learn %s\n  headstock learn %s --from %s --differences", example("class"), example("class"), example("other")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, r, err := d.read()
			if err != nil {
				return err
			}
			c, err := class(f, args[0])
			if err != nil {
				return err
			}
			var l *teach.Lesson
			if from != "" {
				known, err := class(f, from)
				if err != nil {
					return err
				}
				done := d.progress("running every wrong position of what differs")
				l, err = teach.Differences(f, r, known, c, trial.Conditions{})
				done()
				if err != nil {
					return err
				}
			} else if only {
				return bad("--differences needs --from, the class that the crew knows")
			}
			stands := teach.Walk(c, prepare.Places(c), l)
			switch {
			case d.json && only:
				return d.printJSON(struct {
					Caution string       `json:"caution"`
					Items   []teach.Item `json:"items"`
				}{card.Caution, l.Items})
			case only:
				return d.print(card.Differences(l))
			}
			if err := d.print(card.Learn(c, stands, l)); err != nil {
				return err
			}
			if len(stands) == 0 {
				return exit{code: 3}
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "class that the crew knows")
	cmd.Flags().BoolVar(&only, "differences", false, "only the card of what differs")
	return cmd
}
