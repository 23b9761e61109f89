package service

import (
	"bytes"
	"encoding/xml"
	"fmt"
)

// label names the job for launchd.
const label = "tactus"

// PropertyList returns a property list for launchd that runs a command as the user who
// loads it, and starts it again whenever it ends (launchd.plist(5)). log is the path of a
// file for the log. Errors wrap ErrControl.
func PropertyList(c *Command, log string) (string, error) {
	if err := c.check(); err != nil {
		return "", err
	}
	if err := checkPlain(log); err != nil {
		return "", err
	}
	var b bytes.Buffer
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE plist PUBLIC "-//Apple//DTD PLIST 1.0//EN" "http://www.apple.com/DTDs/PropertyList-1.0.dtd">
<!-- Written by "tactus service", for ~/Library/LaunchAgents/tactus.plist. To start it:
     launchctl load ~/Library/LaunchAgents/tactus.plist -->
<plist version="1.0">
<dict>
`)
	text := func(key, value string) {
		fmt.Fprintf(&b, "\t<key>%s</key>\n\t<string>%s</string>\n", key, escaped(value))
	}
	text("Label", label)
	b.WriteString("\t<key>ProgramArguments</key>\n\t<array>\n")
	for _, w := range append([]string{c.Program}, c.Args...) {
		fmt.Fprintf(&b, "\t\t<string>%s</string>\n", escaped(w))
	}
	b.WriteString("\t</array>\n")
	text("WorkingDirectory", c.Folder)
	text("StandardErrorPath", log)
	text("ProcessType", "Interactive") // it is not slowed down in favour of others
	// launchd waits 10 s between two starts unless it is told otherwise.
	b.WriteString("\t<key>RunAtLoad</key>\n\t<true/>\n\t<key>KeepAlive</key>\n\t<true/>\n\t<key>ThrottleInterval</key>\n\t<integer>1</integer>\n\t<key>ExitTimeOut</key>\n\t<integer>90</integer>\n</dict>\n</plist>\n")
	return b.String(), nil
}

// escaped returns text as it stands in XML.
func escaped(text string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(text)) // a buffer does not fail
	return b.String()
}
