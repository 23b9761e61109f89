// Package showtest loads shows for tests: the demo, and folders of files that a test
// changes before it loads them.
package showtest
