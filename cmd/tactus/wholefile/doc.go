// Package wholefile writes files that appear whole or not at all: beside their
// place first, then under their name once everything is on the disk. Until then
// what was there stays.
package wholefile
