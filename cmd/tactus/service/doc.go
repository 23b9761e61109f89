// Package service lets a supervisor start a run and watch it: it writes a systemd unit or
// a launchd property list, and tells systemd how the run does.
//
//	tactus service ──Command──► Unit or PropertyList ──► the supervisor ──starts──► tactus run
//	tactus run ──Notifier──► $NOTIFY_SOCKET: ready, alive, status, stopping
//
// Sources: systemd.service(5), systemd.exec(5), systemd.syntax(7), sd_notify(3),
// launchd.plist(5).
package service
