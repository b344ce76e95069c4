package cli_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestSharingOptions: options of sharing that contradict each other are refused before anything is opened.
func TestSharingOptions(t *testing.T) {
	pem := filepath.Join(t.TempDir(), "x.pem")
	if err := os.WriteFile(pem, []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, x := range map[string]struct {
		args []string
		want string
	}{
		"a certificate without its key":  {[]string{"--share", "--certificate", pem}, "belong together"},
		"a key without its certificate":  {[]string{"--share", "--key", pem}, "belong together"},
		"plain with a certificate":       {[]string{"--share", "--plain", "--certificate", pem, "--key", pem}, "leave out one"},
		"plain without sharing":          {[]string{"--plain"}, "add --share"},
		"a certificate without sharing":  {[]string{"--certificate", pem, "--key", pem}, "add --share"},
		"an address that is not our own": {[]string{"--listen", "192.168.1.1:80"}, "add --share"},
	} {
		args := append([]string{"serve", demoDir, "--listen", "127.0.0.1:0"}, x.args...)
		if _, errs, code := run(t, args...); code != 2 || !strings.Contains(errs, x.want) {
			t.Errorf("%s: %d %q", name, code, errs)
		}
	}
}
