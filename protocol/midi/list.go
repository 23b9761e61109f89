package midi

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"strings"
	"time"
)

// Info describes a port that Open can open.
type Info struct {
	Spec string // for Open
	Name string // of the device; may be empty
	Raw  bool   // a raw device, else a port of the driver
}

// listWithin is the time limit for listing driver ports.
const listWithin = 5 * time.Second

// List returns the raw devices and the ports of the operating system's driver. With
// an error, it still returns the ports that it found; the error says what could not
// be listed (ErrNoDriver in a build without the driver).
func List(ctx context.Context, o Options) ([]Info, error) { return list(ctx, o.Child, "--list") }

// ListOutputs is List for [OpenOutput]. Its raw devices may include inputs, because
// the system's list does not distinguish them.
func ListOutputs(ctx context.Context, o OutputOptions) ([]Info, error) {
	return list(ctx, o.Child, "--list-out")
}

func list(ctx context.Context, child []string, ask string) ([]Info, error) {
	infos := listRaw(os.DirFS("/"))
	if !haveDriver && child == nil {
		return infos, ErrNoDriver
	}
	names, err := listDriver(ctx, child, ask, listWithin)
	for _, name := range names {
		infos = append(infos, Info{Spec: name, Name: name})
	}
	return infos, err
}

// listRaw finds raw MIDI devices of the Linux sound system below root.
func listRaw(root fs.FS) []Info {
	nodes, err := fs.Glob(root, "dev/snd/midiC*D*")
	if err != nil {
		return nil
	}
	var infos []Info
	for _, node := range nodes {
		var card, device int
		info := Info{Spec: "/" + node, Raw: true}
		if _, err := fmt.Sscanf(path.Base(node), "midiC%dD%d", &card, &device); err == nil {
			info.Name = deviceName(root, card, device)
		}
		infos = append(infos, info)
	}
	return infos
}

// deviceName returns the name of the device, or the short name of the card.
func deviceName(root fs.FS, card, device int) string {
	for _, file := range []string{
		fmt.Sprintf("proc/asound/card%d/midi%d", card, device),
		fmt.Sprintf("proc/asound/card%d/id", card),
	} {
		if b, err := fs.ReadFile(root, file); err == nil {
			line, _, _ := strings.Cut(string(b), "\n")
			if line = strings.TrimSpace(line); line != "" {
				return printable([]byte(line))
			}
		}
	}
	return ""
}

// listDriver lists ports in a child process, since listing may crash or hang too.
func listDriver(ctx context.Context, command []string, ask string, within time.Duration) ([]string, error) {
	ctx, cancel := context.WithTimeout(ctx, within)
	defer cancel()
	cmd, err := childCommand(ctx, command, ask)
	if err != nil {
		return nil, fmt.Errorf("midi: list ports: %w", err)
	}
	out, said := &firstOctets{limit: maxList}, &firstOctets{limit: maxSaid}
	cmd.Stdout, cmd.Stderr = out, said
	if err := cmd.Run(); err != nil {
		if errors.Is(ctx.Err(), context.DeadlineExceeded) {
			err = errHang
		}
		return nil, fmt.Errorf("midi: list ports: %w %s", err, said.text())
	}
	var names []string
	for dec := json.NewDecoder(bytes.NewReader(out.b)); dec.More(); {
		var name string
		if err := dec.Decode(&name); err != nil {
			return names, fmt.Errorf("midi: list ports: %w: %w", errFrame, err)
		}
		names = append(names, name)
	}
	return names, nil
}
