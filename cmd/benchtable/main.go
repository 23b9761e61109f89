// Command benchtable prints the output of "go test -bench" as one table: ours
// beside the references that were measured in the same run.
//
//	BenchmarkX/ours          …  3 p99-ms      X   p99-ms   3   6 (peer)   0.50
//	BenchmarkX/peer          …  6 p99-ms  ─►  one row a metric; of several runs
//	BenchmarkY  … 9 ns/u 18 peer-ns/u         the median
//
// A benchmark with a part called "ours" gets a row for each metric, with the other
// parts as references. A metric R-UNIT beside UNIT is reference R too. What has no
// reference is printed without one.
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
