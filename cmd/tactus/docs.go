package main

import (
	"github.com/spf13/cobra"

	"tactus/cmd/tactus/reference"
)

// newDocs is for those who build and package tactus, and for tests.
func newDocs() *cobra.Command {
	var man bool
	c := &cobra.Command{
		Use:    "docs FOLDER",
		Short:  "Write the reference pages of the documentation",
		Hidden: true,
		Example: `  tactus docs docs
  tactus docs --man bin/man`,
		RunE: func(_ *cobra.Command, args []string) error {
			if man {
				return reference.Man(args[0], newRoot())
			}
			return reference.Write(args[0], newRoot())
		},
	}
	c.Flags().BoolVar(&man, "man", false, "man pages instead")
	return c
}
