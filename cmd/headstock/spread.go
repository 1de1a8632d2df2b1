package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"headstock/prove"
	"headstock/trial"
)

// study is how the spreads of the records are to be studied, as asked for; samples 0:
// not at all, because it costs that many runs and two for each spread besides.
type study struct {
	samples int
	seed    uint64
	cmd     *cobra.Command
}

func (s *study) flags(cmd *cobra.Command) {
	s.cmd = cmd
	cmd.Flags().IntVar(&s.samples, "spread", 0, fmt.Sprintf("expected bands from so many runs with the figures drawn within their spreads; %d is usual, absent: bands of the gauges alone", prove.UsualSamples))
	cmd.Flags().Uint64Var(&s.seed, "seed", prove.UsualSeed, "of the drawn figures; the same seed draws the same")
}

// study works out the bands that were asked for; a proof without a test has none.
func (d *door) study(p *prove.Proof, s study) error {
	if !s.cmd.Flags().Changed("spread") {
		if s.cmd.Flags().Changed("seed") {
			return bad("--seed goes with --spread; expected --spread %d beside it", prove.UsualSamples)
		}
		return nil
	}
	if s.samples < 1 || s.samples > prove.MostSamples {
		return bad("--spread wants 1 to %d runs, found %d", prove.MostSamples, s.samples)
	}
	if p.Test == nil {
		return nil
	}
	done := d.progress("running the test with figures drawn within their spreads")
	defer done()
	st, err := prove.Spreads(p.Test, trial.Conditions{}, s.samples, s.seed)
	if err != nil {
		return bad("%v", err)
	}
	p.Study = st
	return nil
}
