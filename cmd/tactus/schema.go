package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/usage"
	"tactus/shows/language"
)

func newSchema() *cobra.Command {
	var kinds []string
	for _, k := range language.Kinds() {
		kinds = append(kinds, string(k))
	}
	return &cobra.Command{
		Use:   "schema " + strings.ToUpper("kind"),
		Short: "Print the JSON Schema of a kind of show file",
		Long: `Print the JSON Schema (2020-12) of a kind of show file, which editors use to
complete and check while you type. Kinds: ` + strings.Join(kinds, ", ") + `.

The files that "tactus new" makes point to their schema already.`,
		Example:   "  tactus schema song > song.schema.json",
		ValidArgs: kinds,
		RunE: func(c *cobra.Command, args []string) error {
			if !slices.Contains(kinds, args[0]) {
				return usage.Errorf("no kind %q%s; kinds are: %s", args[0], didYouMean(args[0], kinds), strings.Join(kinds, ", "))
			}
			_, err := c.OutOrStdout().Write(language.Schema(language.Kind(args[0])))
			return err
		},
	}
}
