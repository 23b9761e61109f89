// Command benchtable prints the output of "go test -bench" as one table. It compares
// our own figures with references measured in the same run.
//
//	BenchmarkX/ours          …  3 p99-ms      X   p99-ms   3   6 (peer)   0.50
//	BenchmarkX/peer          …  6 p99-ms  ─►  one row for each metric: the
//	BenchmarkY  … 9 ns/u 18 peer-ns/u         median of several runs
//
// A benchmark with a part called "ours" gets a row for each metric, with its other
// parts as references. A metric R-UNIT beside UNIT is also a figure of reference R.
// A metric without a reference is printed alone.
package main

import (
	"fmt"
	"os"
)

func main() {
	t, err := parse(os.Stdin)
	if err != nil {
		fmt.Fprintln(os.Stderr, "benchtable:", err)
		os.Exit(1)
	}
	t.write(os.Stdout)
}
