package main

import (
	"fmt"
	"os"
	"os/user"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"tactus/cmd/tactus/service"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
)

func newService() *cobra.Command {
	var f liveFlags
	var as string
	var launchd bool
	c := &cobra.Command{
		Use:   "service SHOW",
		Short: "Print what a supervisor needs to run a show: a systemd unit, or a launchd property list",
		Long: `Print a systemd unit, or with --launchd a property list for macOS, that runs
"tactus run SHOW --resume" with the flags that are given here, and starts it again at
once after a crash. Nothing is installed: the first lines of the output say how to.

systemd is told when the first frame has left, and kills a program that makes no more
frames for 5 s. The unit gives real-time priority and locked memory, and takes away
what the program does not need. Its state is in /var/lib/tactus unless --state is
given. Names that are relative are looked up in the folder where this is called.

Try it before the night: systemctl kill -s KILL tactus, and look at the stage.`,
		Example: `  tactus service my-hall --midi /dev/snd/midiC1D0 --interface eth0 > tactus.service
  tactus service my-hall --midi "Studio Interface" --panel --launchd > tactus.plist`,
		RunE: func(c *cobra.Command, args []string) error { return printService(c, args[0], &f, as, launchd) },
	}
	c.Flags().StringVar(&as, "user", "", "user who plays (default: the one who calls this)")
	c.Flags().BoolVar(&launchd, "launchd", false, "print a property list for macOS instead")
	f.addRun(c)
	return c
}

func printService(c *cobra.Command, show string, f *liveFlags, as string, launchd bool) error {
	if err := f.checked(); err != nil {
		return err
	}
	if f.duration != 0 {
		return usage.Errorf("--for %s: a supervisor would start the show again at its end", f.duration)
	}
	if _, err := showfiles.Open(show); err != nil {
		return err
	}
	command, err := serviceCommand(c, show, f, launchd)
	if err != nil {
		return err
	}
	text := ""
	if launchd {
		text, err = service.PropertyList(command, filepath.Join(command.Folder, "tactus.log"))
	} else {
		if as == "" {
			who, err := user.Current()
			if err != nil {
				return fmt.Errorf("who plays is not known: %w; --user names somebody", err)
			}
			as = who.Username
		}
		text, err = service.Unit(command, as)
	}
	if err == nil {
		_, err = fmt.Fprint(c.OutOrStdout(), text)
	}
	return err
}

// serviceCommand is the run that a supervisor starts, with the flags that were given.
func serviceCommand(c *cobra.Command, show string, f *liveFlags, launchd bool) (*service.Command, error) {
	program, err := os.Executable()
	if err != nil {
		return nil, err
	}
	folder, err := os.Getwd()
	if err != nil {
		return nil, err
	}
	if show != showfiles.Demo {
		if show, err = filepath.Abs(show); err != nil {
			return nil, err
		}
	}
	command := &service.Command{Description: "tactus plays " + show, Program: program, Args: []string{"run", show, "--resume"}, Folder: folder}
	writable := func(path string) {
		if path, err := filepath.Abs(path); err == nil {
			command.Writable = append(command.Writable, path)
		}
	}
	switch {
	case f.State != "":
		writable(f.State)
	case !launchd:
		command.Args = append(command.Args, "--state="+service.StateFolder)
	}
	if f.Journal != "" {
		writable(filepath.Dir(f.Journal))
	}
	c.Flags().Visit(func(flag *pflag.Flag) {
		switch list, many := flag.Value.(pflag.SliceValue); {
		case flag.Name == "user" || flag.Name == "launchd" || flag.Name == "resume":
		case many:
			for _, v := range list.GetSlice() {
				command.Args = append(command.Args, "--"+flag.Name+"="+v)
			}
		default:
			command.Args = append(command.Args, "--"+flag.Name+"="+flag.Value.String())
		}
	})
	return command, nil
}
