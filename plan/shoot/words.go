package shoot

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"
)

// Why says in words why a file or folder could not be read or written, without the calls of the system that failed.
func Why(err error) string {
	var at *fs.PathError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "there is no such file or folder"
	case errors.Is(err, fs.ErrPermission):
		return "this user has no permission for it"
	case errors.Is(err, syscall.EISDIR):
		return "it is a folder where a file is expected"
	case errors.Is(err, syscall.ENOTDIR):
		return "it, or a part of its path, is a file where a folder is expected"
	case errors.Is(err, syscall.ELOOP):
		return "its links lead in a circle"
	case errors.Is(err, syscall.ENAMETOOLONG):
		return "the name is too long"
	case errors.Is(err, syscall.ENOSPC):
		return "the disk is full"
	case errors.Is(err, syscall.EROFS):
		return "the disk is read-only"
	case strings.Contains(err.Error(), "path escapes"): // the os package keeps this error to itself
		return "it leads out of the shoot folder"
	case errors.As(err, &at):
		return at.Err.Error()
	}
	return err.Error()
}

// fileError is a file or folder that could not be read or written, told in words.
type fileError struct {
	verb, path string // cannot write, /a/b
	err        error
	mend       string
}

func (e *fileError) Error() string {
	text := e.verb + " " + e.path + ": " + Why(e.err)
	if e.mend != "" {
		text += "; " + e.mend
	}
	return text
}

func (e *fileError) Unwrap() error { return e.err }

// Unwritten tells in words of a file or folder that could not be written; errors.Is still finds the cause.
func Unwritten(path string, err error) error {
	return &fileError{"cannot write", path, err, "choose another place, or make this one writable"}
}

// malformed says in words what is wrong with JSON.
func malformed(err error) string {
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &kind) && kind.Field != "":
		return fmt.Sprintf("%s holds %s, which does not belong there", kind.Field, article(kind.Value))
	case errors.As(err, &kind):
		return "the file holds " + article(kind.Value) + " where an object is expected"
	case strings.Contains(err.Error(), "unexpected end"):
		return "the file ends in the middle: it is cut off"
	}
	return err.Error()
}

func article(noun string) string {
	if noun != "" && strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}
