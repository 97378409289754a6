package test

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"
)

// The sessions over SSH use a real OpenSSH server on the loopback interface, with
// keys and a configuration of its own that are thrown away.

// server is an SSH server started for a test.
type server struct {
	dir  string
	port int
}

func startServer(t *testing.T) *server {
	t.Helper()
	daemon, err := exec.LookPath("sshd")
	if err != nil {
		daemon = "/usr/sbin/sshd"
	}
	for _, needed := range []string{daemon, "ssh", "ssh-keygen"} {
		if _, err := exec.LookPath(needed); err != nil {
			t.Skipf("%s is not installed: no session over SSH", needed)
		}
	}
	s := &server{dir: t.TempDir(), port: freePort(t)}
	s.generate(t, "host_key")
	s.generate(t, "user_key")
	makeSeparationFolder(t)
	config := fmt.Sprintf(`Port %d
ListenAddress 127.0.0.1
HostKey %s
AuthorizedKeysFile %s
PidFile none
StrictModes no
UsePAM no
PasswordAuthentication no
KbdInteractiveAuthentication no
PermitRootLogin prohibit-password
AcceptEnv LANG
PrintMotd no
`, s.port, s.file("host_key"), s.file("user_key.pub"))
	if err := os.WriteFile(s.file("config"), []byte(config), 0o600); err != nil {
		t.Fatal(err)
	}
	log, err := os.Create(s.file("log"))
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	process := exec.Command(daemon, "-D", "-e", "-f", s.file("config"))
	process.Stderr = log
	process.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if err := process.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = syscall.Kill(-process.Process.Pid, syscall.SIGTERM)
		_ = process.Wait()
		if text, err := os.ReadFile(s.file("log")); err == nil && t.Failed() {
			t.Logf("the SSH server says:\n%s", text)
		}
	})
	if !eventually(patience, func() bool {
		c, err := net.Dial("tcp", s.address())
		if err == nil {
			c.Close()
		}
		return err == nil
	}) {
		text, _ := os.ReadFile(s.file("log"))
		t.Fatalf("the SSH server never answered: %s", text)
	}
	return s
}

func (s *server) file(name string) string { return filepath.Join(s.dir, name) }

func (s *server) address() string { return net.JoinHostPort("127.0.0.1", strconv.Itoa(s.port)) }

func (s *server) generate(t *testing.T, name string) {
	t.Helper()
	if out, err := exec.Command("ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", name, "-f", s.file(name)).CombinedOutput(); err != nil {
		t.Fatalf("ssh-keygen: %v: %s", err, out)
	}
}

// makeSeparationFolder makes the empty folder that the server wants of root, and
// that a starting system makes.
func makeSeparationFolder(t *testing.T) {
	t.Helper()
	const folder = "/run/sshd"
	if os.Getuid() != 0 {
		return
	}
	if err := os.Mkdir(folder, 0o755); err == nil {
		t.Cleanup(func() { os.Remove(folder) })
	} else if !os.IsExist(err) {
		t.Skipf("no session over SSH: %v", err)
	}
}

func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Skipf("no loopback interface here: %v", err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// client returns the arguments for an SSH client that runs a command on a
// terminal behind a cable.
func (s *server) client(t *testing.T, c *cable, command string) []string {
	t.Helper()
	me, err := user.Current()
	if err != nil {
		t.Fatal(err)
	}
	return []string{"-F", "none", "-tt", "-q", "-i", s.file("user_key"), "-p", strconv.Itoa(c.port()),
		"-o", "IdentitiesOnly=yes", "-o", "BatchMode=yes", "-o", "StrictHostKeyChecking=no", "-o", "SendEnv=LANG",
		"-o", "UserKnownHostsFile=" + s.file("known"), me.Username + "@127.0.0.1", command}
}

// cable is the line between client and server: it counts, and can be cut.
type cable struct {
	listener net.Listener
	received atomic.Int64 // bytes that came to the client

	mu    sync.Mutex
	ends  []net.Conn
	going sync.WaitGroup
}

func lay(t *testing.T, s *server) *cable {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c := &cable{listener: listener}
	c.going.Go(func() {
		for {
			near, err := listener.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("tcp", s.address())
			if err != nil {
				near.Close()
				return
			}
			c.mu.Lock()
			c.ends = append(c.ends, near, far)
			c.mu.Unlock()
			c.going.Go(func() { carry(far, near, nil) })
			c.going.Go(func() { carry(near, far, &c.received) })
		}
	})
	t.Cleanup(func() {
		c.cut()
		c.going.Wait()
	})
	return c
}

// carry hands on what comes until one side ends.
func carry(to, from net.Conn, counted *atomic.Int64) {
	buffer := make([]byte, 1<<16)
	for {
		n, err := from.Read(buffer)
		if counted != nil {
			counted.Add(int64(n))
		}
		if _, failed := to.Write(buffer[:n]); err != nil || failed != nil {
			to.Close()
			from.Close()
			return
		}
	}
}

func (c *cable) port() int { return c.listener.Addr().(*net.TCPAddr).Port }

// cut ends every connection at once.
func (c *cable) cut() {
	c.listener.Close()
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, end := range c.ends {
		end.Close()
	}
}

// launchFar has the shell of a terminal run the program behind SSH.
func launchFar(t *testing.T, p *pane, s *server, c *cable, path string) {
	t.Helper()
	far := fmt.Sprintf("cd %s && echo $$ >pid.part && mv pid.part pid && exec %s", p.dir, path)
	arguments := s.client(t, c, far)
	arguments[len(arguments)-1] = `"` + strings.ReplaceAll(far, "$", `\$`) + `"`
	script := "echo $$ >client\nexec ssh " + strings.Join(arguments, " ") + "\n"
	if err := os.WriteFile(filepath.Join(p.dir, "connect"), []byte(script), 0o600); err != nil {
		t.Fatal(err)
	}
	p.shell("sh ./connect")
}

// TestSessionOverSSH is the walk of [TestSession] over SSH: the screens are
// whole, and a cut line ends the program and loses nothing that was written.
func TestSessionOverSSH(t *testing.T) {
	path := program(t)
	s := startServer(t)
	c, p := lay(t, s), openPane(t)
	launchFar(t, p, s, c, path)
	p.see(firstQuestion)
	pid := p.process()
	t.Logf("first screen: %d bytes to the terminal, %d on the line, keys exchanged", p.sent(), c.received.Load())
	walkScreens(t, p)
	resizes(p)
	written := handOver(t, p)

	cut := time.Now()
	c.cut()
	if !eventually(patience, func() bool { return gone(pid) }) {
		t.Fatal("still running after the line was cut")
	}
	endsSoon(t, cut)
	wholeHandover(t, written)
}

// The client may be killed as well, and that in the moment of writing: the
// handover is then whole or not there.
func TestKilledClientWhileWriting(t *testing.T) {
	path := program(t)
	s := startServer(t)
	c, p := lay(t, s), openPane(t)
	launchFar(t, p, s, c, path)
	p.see(firstQuestion)
	pid := p.process()
	text, err := os.ReadFile(filepath.Join(p.dir, "client"))
	if err != nil {
		t.Fatal(err)
	}
	client, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil {
		t.Fatal(err)
	}
	p.enter("8")
	p.see("What does the next shift need to know")
	p.enter("W")
	killed := time.Now()
	if err := syscall.Kill(client, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	if !eventually(patience, func() bool { return gone(pid) }) {
		t.Fatal("still running after the client was killed")
	}
	endsSoon(t, killed)
	found, err := filepath.Glob(filepath.Join(p.dir, "handover-*"))
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("handovers written before the end: %d", len(found))
	for _, name := range found {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(text), "## Cautions") || !strings.HasSuffix(string(text), "\n") {
			t.Errorf("%s is not whole:\n%s", filepath.Base(name), text)
		}
	}
}

// What a key costs on a line with SSH's own frames around it is told.
func TestBytesAKeyOverSSH(t *testing.T) {
	path := program(t)
	s := startServer(t)
	c := lay(t, s)
	l := startLine(t, "ssh", s.client(t, c, "cd "+s.dir+" && exec "+path)...)
	first := l.see(firstQuestion)
	l.settle(300 * time.Millisecond)
	before := c.received.Load()
	keys := keyPath[:30]
	path80 := pressAll(l, keys)
	t.Logf("over SSH, 80x24: first screen after %v; %v; %d bytes a key on the line", first.Round(time.Millisecond), path80,
		(c.received.Load()-before)/int64(len(keys)))
	if path80.mean >= 4000 {
		t.Errorf("%d bytes a key on average, want under 4000", path80.mean)
	}
	l.press("q")
	if code := l.left(); code != 0 {
		t.Errorf("exit code %d, want 0", code)
	}
	l.restored()
}
