package shoot

import (
	"fmt"
	"os"
)

// LoadDraft reads a shoot folder like Load, with src in place of its shoot file: what the folder would
// be if src were saved.
func LoadDraft(dir string, src []byte) (*Shoot, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("cannot open shoot folder %s: %w", dir, err)
	}
	defer root.Close()
	return folder{root}.parse(src)
}
