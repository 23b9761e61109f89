// Package wakenoise measures beside a benchmark how late this machine wakes any
// program, so that a late frame can be told from a late machine.
package wakenoise
