package service

import (
	"errors"
	"fmt"
	"strings"
)

// StateFolder is the folder of StateDirectory=tactus (systemd.exec(5)).
const StateFolder = "/var/lib/tactus"

// What stands in a unit before and after the lines of a command.
const (
	unitHead = `# Written by "tactus service". As root:
#   tactus service SHOW ... > /etc/systemd/system/tactus.service
#   systemctl daemon-reload && systemctl enable --now tactus

[Unit]
Description=%s
# A crash is followed by a start, however often it comes.
StartLimitIntervalSec=0

[Service]
# The program says that it is ready with its first frame. If it makes no frames for 5 s it
# is killed and started again.
Type=notify
NotifyAccess=main
TimeoutStartSec=60s
WatchdogSec=5s
Restart=always
RestartSec=20ms
# SIGTERM ends the show as its "on exit" says, which may take the time of a fade.
TimeoutStopSec=90s
`
	unitTail = `StateDirectory=tactus

# Real-time priority, locked memory, and sockets for many nodes and browsers.
LimitRTPRIO=20
LimitMEMLOCK=infinity
LimitNOFILE=16384
OOMScoreAdjust=-500

# Nothing that the program does not need. The limits above give it real-time priority
# without a capability.
CapabilityBoundingSet=
NoNewPrivileges=yes
ProtectSystem=strict
ProtectHome=read-only
ProtectControlGroups=yes
ProtectKernelModules=yes
ProtectKernelLogs=yes
ProtectKernelTunables=yes
ProtectClock=yes
ProtectHostname=yes
RestrictNamespaces=yes
RestrictSUIDSGID=yes
LockPersonality=yes
MemoryDenyWriteExecute=yes
SystemCallArchitectures=native
# IP, the list of network interfaces, and the sockets of systemd and of the sound system.
RestrictAddressFamilies=AF_INET AF_INET6 AF_NETLINK AF_UNIX

[Install]
WantedBy=multi-user.target
`
)

// errBackslash means that systemd would join the next line to this one (systemd.syntax(7)).
var errBackslash = errors.New("it ends with a backslash")

// Unit returns a systemd unit that runs a command as a user. Errors wrap ErrControl, or
// name a folder whose name no unit can hold.
func Unit(c *Command, user string) (string, error) {
	if err := errors.Join(c.check(), checkPlain(user)); err != nil {
		return "", err
	}
	for _, text := range []string{c.Description, c.Folder, user} {
		if strings.HasSuffix(text, `\`) {
			return "", fmt.Errorf("%q cannot stand in a unit: %w", text, errBackslash)
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, unitHead, unitText(c.Description))
	fmt.Fprintf(&b, "ExecStart=%s", unitWord(c.Program))
	for _, a := range c.Args {
		// systemd.service(5), command lines: a dollar sign begins a variable, inside quotes too.
		b.WriteString(" " + strings.ReplaceAll(unitWord(a), "$", "$$"))
	}
	fmt.Fprintf(&b, "\nWorkingDirectory=%s\nUser=%s\n", unitText(c.Folder), unitText(user))
	// The group that may open MIDI devices and, by limits.d, have real-time priority: common
	// practice of Linux distributions, no source.
	b.WriteString("SupplementaryGroups=audio\n")
	for _, folder := range c.Writable {
		fmt.Fprintf(&b, "ReadWritePaths=%s\n", unitWord("-"+folder)) // the minus: it may be missing
	}
	b.WriteString(unitTail)
	return b.String(), nil
}

// unitText escapes text that systemd does not split into words: a percent sign begins a
// specifier (systemd.unit(5)).
func unitText(text string) string { return strings.ReplaceAll(text, "%", "%%") }

// unitWord quotes a word of a line that systemd splits: inside double quotes, backslashes
// and double quotes are escaped (systemd.syntax(7), quoting).
func unitWord(word string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "%", "%%").Replace(word) + `"`
}
