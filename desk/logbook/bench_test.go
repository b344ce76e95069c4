package logbook_test

import (
	"fmt"
	"path/filepath"
	"testing"

	"fieldfare/desk/logbook"
)

// One entry, acknowledged: the price of a full synchronisation to the disk.
func BenchmarkAppend(b *testing.B) {
	l := open(b, filepath.Join(b.TempDir(), "log.db"))
	n := 0
	for b.Loop() {
		n++
		add(b, l, remark(b, fmt.Sprintf("entry-%06d", n), "x"))
	}
}

// Opening a book of 20 000 entries, its check included.
func BenchmarkOpen20000(b *testing.B) {
	where := filepath.Join(b.TempDir(), "log.db")
	l := open(b, where)
	var batch []logbook.Entry
	for n := range 20000 {
		batch = append(batch, remark(b, fmt.Sprintf("entry-%06d", n), "a remark of usual length, as one is typed on a tablet"))
	}
	add(b, l, batch...)
	for b.Loop() {
		open(b, where).Close()
	}
}

// Reading 20 000 entries as they stand.
func BenchmarkStanding20000(b *testing.B) {
	l := open(b, filepath.Join(b.TempDir(), "log.db"))
	var batch []logbook.Entry
	for n := range 20000 {
		batch = append(batch, remark(b, fmt.Sprintf("entry-%06d", n), "a remark of usual length, as one is typed on a tablet"))
	}
	add(b, l, batch...)
	for b.Loop() {
		if _, err := l.Standing(ctx, logbook.Filter{}); err != nil {
			b.Fatal(err)
		}
	}
}
