package logbook_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"fieldfare/desk/logbook"
)

// A page in the field makes the entry's id itself, so that it may send again until it
// sees the receipt.
func ExampleLog_Append() {
	dir, _ := os.MkdirTemp("", "log")
	defer os.RemoveAll(dir)
	now := func() time.Time { return time.Date(2026, 6, 21, 10, 5, 0, 0, time.UTC) }
	l, err := logbook.Open(context.Background(), filepath.Join(dir, "log.db"), now)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer l.Close()
	e, _ := logbook.New("tablet-1-0001", "A. Pilot", now(), &logbook.Take{Slate: "4B", Take: 1, Circled: true})
	e.Device, e.Ordinal = "tablet 1", 1
	for range 2 {
		receipts, err := l.Append(context.Background(), e)
		fmt.Printf("%+v %v\n", receipts, err)
	}
	// Output:
	// [{ID:tablet-1-0001 Seq:1 Repeat:false}] <nil>
	// [{ID:tablet-1-0001 Seq:1 Repeat:true}] <nil>
}
