package sacn_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// need skips the test unless a tool is there; under CI=true it must be.
func need(t *testing.T, ok bool, what, how string) {
	t.Helper()
	if ok {
		return
	}
	require.NotEqual(t, "true", os.Getenv("CI"), "needs %s: %s", what, how)
	t.Skipf("needs %s: %s", what, how)
}

func have(tool string) bool { _, err := exec.LookPath(tool); return err == nil }

const insideEnv = "TACTUS_TEST_NETNS"

// inNamespace reports whether the test already runs in a network namespace of
// its own. If not, it makes one, runs the same test there in a new process, and
// takes over its result. Test traffic cannot leave: the namespace has no link
// to the outside.
func inNamespace(t *testing.T) bool {
	t.Helper()
	if os.Getenv(insideEnv) == t.Name() {
		return true
	}
	need(t, runtime.GOOS == "linux" && os.Geteuid() == 0 && have("ip"), "root and ip", "run as root with iproute2 installed")
	ns := fmt.Sprintf("tactus-sacn-%d-%s", os.Getpid(), strings.ToLower(t.Name()))
	if out, err := exec.Command("ip", "netns", "add", ns).CombinedOutput(); err != nil {
		need(t, false, "the right to make a network namespace", strings.TrimSpace(string(out)))
	}
	t.Cleanup(func() { ip(t, "netns", "del", ns) })
	ip(t, "-n", ns, "link", "set", "lo", "up", "multicast", "on")
	ip(t, "-n", ns, "route", "add", "239.255.0.0/16", "dev", "lo")

	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command("ip", "netns", "exec", ns, self, "-test.run=^"+t.Name()+"$", "-test.v", "-test.count=1", "-test.timeout=60s")
	cmd.Env = append(os.Environ(), insideEnv+"="+t.Name())
	out, err := cmd.CombinedOutput()
	t.Logf("in the namespace:\n%s", out)
	require.NoError(t, err)
	switch result := string(out); {
	case strings.Contains(result, "--- SKIP: "+t.Name()):
		t.Skip("skipped in the namespace")
	case !strings.Contains(result, "--- PASS: "+t.Name()):
		require.Fail(t, "the test did not run in the namespace")
	}
	return false
}

// ip runs the ip command; it must succeed.
func ip(t *testing.T, args ...string) {
	t.Helper()
	out, err := exec.Command("ip", args...).CombinedOutput()
	require.NoError(t, err, "ip %s: %s", strings.Join(args, " "), out)
}

// peerScript starts one of the scripts that drive the independent library.
func peerScript(t *testing.T, name string, args ...string) *process {
	t.Helper()
	dir, err := filepath.Abs("../../testdata/wire")
	require.NoError(t, err)
	_, err = os.Stat(filepath.Join(dir, "node_modules", "sacn"))
	need(t, have("node") && err == nil, "node and the npm library", "install Node.js 20, then run npm ci in testdata/wire")
	return start(t, exec.Command("node", append([]string{filepath.Join(dir, name)}, args...)...))
}

// process is a running command whose lines can be read.
type process struct {
	t     *testing.T
	lines chan string
	in    interface{ Write([]byte) (int, error) }
}

// line waits for the next line of output.
func (p *process) line() string {
	p.t.Helper()
	select {
	case s, ok := <-p.lines:
		require.True(p.t, ok, "the peer ended")
		return s
	case <-time.After(15 * time.Second):
		require.Fail(p.t, "the peer said nothing for 15 s")
	}
	return ""
}
