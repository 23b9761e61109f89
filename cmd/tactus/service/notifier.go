package service

import (
	"strings"
	"time"

	"github.com/coreos/go-systemd/v22/daemon"
)

// Notifier tells systemd how a run does, by the socket in $NOTIFY_SOCKET (sd_notify(3)). A
// nil Notifier tells nobody.
type Notifier struct{ watchdog time.Duration }

// NewNotifier returns a Notifier, or nil if no supervisor listens. An error means that what
// systemd asks for cannot be read; the Notifier works without the watchdog.
func NewNotifier() (*Notifier, error) {
	if there, err := daemon.SdNotify(false, "STATUS=loads the show"); !there {
		return nil, err
	}
	every, err := daemon.SdWatchdogEnabled(false)
	return &Notifier{watchdog: every}, err
}

// Every returns how often to call Alive: four times in the time after which systemd counts
// the program as hung, at least once a second, so that a busy computer does not look like
// a hung program.
func (n *Notifier) Every() time.Duration {
	if n.watchdog <= 0 {
		return time.Second
	}
	return min(n.watchdog/4, time.Second)
}

// Ready says that the show is on: the first frame has left.
func (n *Notifier) Ready() { n.tell(daemon.SdNotifyReady) }

// Alive says that frames leave, and in a few words what plays.
func (n *Notifier) Alive(status string) {
	n.tell(daemon.SdNotifyWatchdog + "\nSTATUS=" + strings.ReplaceAll(status, "\n", " "))
}

// Stopping says that the show says goodbye.
func (n *Notifier) Stopping() { n.tell(daemon.SdNotifyStopping + "\nSTATUS=says goodbye") }

// tell sends a state. What cannot be sent is lost: the light does not depend on it.
func (n *Notifier) tell(state string) {
	if n != nil {
		_, _ = daemon.SdNotify(false, state)
	}
}
