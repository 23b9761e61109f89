//go:build never

// Keeps the module list while packages are being written; removed before landing.
package tactus

import (
	_ "github.com/goccy/go-yaml"
	_ "github.com/google/go-cmp/cmp"
	_ "github.com/google/uuid"
	_ "github.com/rogpeppe/go-internal/testscript"
	_ "github.com/rs/zerolog"
	_ "github.com/santhosh-tekuri/jsonschema/v6"
	_ "github.com/spf13/cobra"
	_ "gitlab.com/gomidi/midi/v2"
	_ "gitlab.com/gomidi/midi/v2/smf"
	_ "gitlab.com/gomidi/midi/v2/drivers/rtmididrv"
	_ "go.uber.org/goleak"
	_ "go.yaml.in/yaml/v3"
	_ "golang.org/x/net/ipv4"
	_ "golang.org/x/sys/cpu"
	_ "golang.org/x/term"
	_ "pgregory.net/rapid"
)
