// Package showtest loads shows for tests: the demo show, and show folders that a test
// edits before loading.
package showtest
