package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"headstock/card"
	"headstock/paper"
	"headstock/paper/xlsx"
)

func (d *door) table() *cobra.Command {
	return &cobra.Command{
		Use: "table CLASS [FILE.xlsx|FILE.csv]", Args: cobra.RangeArgs(1, 2),
		Short: "write the devices of a class as a table, one row a device, that reads back as the same devices",
		Long: "table writes the devices of a class as a table. Put into the class's folder as devices.csv or devices.xlsx it is read as part of the record.\n\n" +
			"The columns are id and the keys of a device. A cell that holds several things has one on each line, or parts them with a semicolon; a position is written  open: how it looks | means: what it means | sets: 35 kPa.  " +
			"A semicolon or bar of a text is doubled. A row or a column whose head begins with # is a remark.",
		Example: fmt.Sprintf("  headstock table %s > devices.csv\n  headstock table %s devices.xlsx", example("class"), example("class")),
		RunE: func(_ *cobra.Command, args []string) error {
			f, _, err := d.read()
			if err != nil {
				return err
			}
			c, err := class(f, args[0])
			if err != nil {
				return err
			}
			rows := append([][]string{{"# " + card.Caution}}, c.DeviceTable()...)
			if d.json {
				return d.printJSON(map[string]any{"caution": card.Caution, "class": c.Name, "rows": rows[1:]})
			}
			if len(args) == 1 {
				return paper.Rows(d.out, rows)
			}
			var b bytes.Buffer
			switch ext := strings.ToLower(filepath.Ext(args[1])); ext {
			case ".csv":
				err = paper.Rows(&b, rows)
			case ".xlsx":
				err = xlsx.Rows(&b, "devices", rows)
			default:
				return bad("%s ends in %q; expected .csv or .xlsx", args[1], ext)
			}
			if err != nil {
				return err
			}
			if err := writeFile(args[1], b.Bytes(), 0o644); err != nil {
				return exit{2, err.Error()}
			}
			fmt.Fprintf(d.out, "wrote %s: %d devices of class %s\n", args[1], len(c.Devices), c.Name)
			return nil
		},
	}
}
