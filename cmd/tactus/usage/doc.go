// Package usage tells mistakes on the command line from all other errors, so
// that main can point to the help and end with the exit code for them.
package usage
