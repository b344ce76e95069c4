package shoot

import (
	"fmt"
	"os"
)

// LoadDraft reads a shoot folder like Load, with src in place of its shoot file: what the folder would
// be if src were saved. It takes over from an earlier version what Reload does.
func LoadDraft(dir string, src []byte, was *Shoot) (*Shoot, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("cannot open shoot folder %s: %w", dir, err)
	}
	defer root.Close()
	return folder{root}.parse(src, was)
}
