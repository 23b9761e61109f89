package udp_test

import (
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

const inNamespaceEnv = "TACTUS_UDP_NAMESPACE"

// inNamespace runs the calling test once more in a network namespace of its own, and
// is true there. Nothing that the test sends can leave it.
func inNamespace(t *testing.T) bool {
	t.Helper()
	if os.Getenv(inNamespaceEnv) == t.Name() {
		run(t, "ip", "link", "set", "lo", "up")
		return true
	}
	need := func(ok bool, what string) {
		if !ok {
			require.NotEqual(t, "true", os.Getenv("CI"), what)
			t.Skip("needs " + what)
		}
	}
	need(os.Geteuid() == 0, "root, to make a network namespace: run the tests with sudo")
	for _, tool := range []string{"unshare", "ip"} {
		_, err := exec.LookPath(tool)
		need(err == nil, tool+": apt-get install util-linux iproute2")
	}
	cmd := exec.Command("unshare", "-n", os.Args[0], "-test.run", "^"+t.Name()+"$", "-test.v", "-test.timeout", "60s")
	cmd.Env = append(os.Environ(), inNamespaceEnv+"="+t.Name())
	out, err := cmd.CombinedOutput()
	t.Logf("in the namespace:\n%s", out)
	require.NoError(t, err, "in the namespace")
	require.Contains(t, string(out), "--- PASS: "+t.Name(), "in the namespace")
	return false
}

func run(t *testing.T, name string, args ...string) {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "%s %s\n%s", name, strings.Join(args, " "), out)
}

// cable makes two interfaces with a cable between them; ours gets the address.
func cable(t *testing.T) {
	t.Helper()
	run(t, "ip", "link", "add", "stage0", "type", "veth", "peer", "name", "stage1")
	run(t, "ip", "addr", "add", "10.77.0.1/24", "dev", "stage0")
	run(t, "ip", "link", "set", "stage0", "up")
	run(t, "ip", "link", "set", "stage1", "up")
}

// within waits until what holds, and returns how long that took; the test fails
// after the time.
func within(t *testing.T, most time.Duration, what func() bool) time.Duration {
	t.Helper()
	began := time.Now()
	tick := time.NewTicker(time.Millisecond)
	defer tick.Stop()
	for !what() {
		require.Less(t, time.Since(began), most, "it does not come")
		<-tick.C
	}
	return time.Since(began)
}
