package day

// tie is the order of two slates in the bound: at no time may the second have begun
// while the first is not over. Each of a row of times has a price, gained by the
// first if it is over by then and paid by the second if it has begun by then; no plan
// that keeps the order loses by it (the disaggregated precedence of time-indexed
// schedules: Christofides, Alvarez-Valdes and Tamarit, Project scheduling with
// resource constraints, European Journal of Operational Research 29, 1987; from
// memory).
type tie struct {
	first, then int32
	from, every int64 // seconds from the base to the first time, and between times
	at, n       int   // where its prices lie; the last is of all time
	sum         []int64
}

// A tie has a time every hour, but no more than mostTimes.
const mostTimes = 32

// of is the place of the first time that is not before s, in seconds from the base.
func (t *tie) of(s int64) int {
	return int(max(0, min(ceilDiv(s-t.from, t.every), int64(t.n-1))))
}

// after is the sum of the prices from a time on.
func (t *tie) after(s int64) int64 { return t.sum[t.of(s)] }

// tie makes the ties of slates that may be out of order.
func (b *bounds) tie() {
	m := b.m
	begin, over := make([]int64, len(m.slates)), make([]int64, len(m.slates)) // first and last
	for i := range begin {
		begin[i], over[i] = 1<<60, -1<<60
	}
	for i := range m.flights {
		f := &m.flights[i]
		for _, p := range f.days {
			if len(p.q) == 0 {
				continue
			}
			for k, s := range f.slates {
				begin[s] = min(begin[s], int64(p.lo)*m.step+f.offsets[k])
				over[s] = max(over[s], int64(p.lo+int32(len(p.q))-1)*m.step+f.offsets[k]+m.p.Slates[s].flown())
			}
		}
	}
	for _, w := range m.waits {
		for s := range m.slates {
			if !m.slates[w].preds.has(s) || begin[w] >= 1<<60 || begin[s] >= 1<<60 {
				continue
			}
			t := tie{first: int32(s), then: int32(w), from: begin[w], at: len(b.price)}
			span := max(0, over[s]-begin[w])
			t.every = max(3600, ceilDiv(span, mostTimes))
			t.n = int(ceilDiv(span, t.every)) + 1
			t.sum = make([]int64, t.n)
			b.price = append(b.price, make([]int64, t.n)...)
			b.ties = append(b.ties, t)
		}
	}
	for i := range m.flights {
		for k := range b.ties {
			if t := &b.ties[k]; m.flights[i].mask.has(int(t.first)) || m.flights[i].mask.has(int(t.then)) {
				b.net[i] = make([][]int64, len(m.dayStart))
				for d, p := range m.flights[i].days {
					b.net[i][d] = make([]int64, len(p.q))
				}
				break
			}
		}
	}
}

// payTies brings the nets of flights to the present prices.
func (b *bounds) payTies() {
	m := b.m
	for k := range b.ties {
		t := &b.ties[k]
		var sum int64
		for i := t.n - 1; i >= 0; i-- {
			sum += b.price[t.at+i]
			t.sum[i] = sum
		}
	}
	for i, net := range b.net {
		if net == nil {
			continue
		}
		f := &m.flights[i]
		for d, p := range f.days {
			for k, q := range p.q {
				net[d][k] = q - b.cut[i]
			}
			for k := range b.ties {
				t := &b.ties[k]
				for j, s := range f.slates {
					begin := int64(p.lo)*m.step + f.offsets[j]
					switch s {
					case t.first:
						over := begin + m.p.Slates[s].flown()
						for x := range p.q {
							net[d][x] += t.after(over + int64(x)*m.step)
						}
					case t.then:
						for x := range p.q {
							net[d][x] -= t.after(begin + int64(x)*m.step)
						}
					}
				}
			}
		}
	}
}

// pull counts a flight at a take-off of the best paths: how the root runs with
// the prices of its ties, as differences in time until sumSlopes.
func (b *bounds) pull(slope []int32, f *flight, takeoff int32) {
	m := b.m
	for k := range b.ties {
		t := &b.ties[k]
		for j, s := range f.slates {
			begin := int64(takeoff)*m.step + f.offsets[j]
			switch s {
			case t.first:
				slope[t.at+t.of(begin+m.p.Slates[s].flown())]++
			case t.then:
				slope[t.at+t.of(begin)]--
			}
		}
	}
}

func (b *bounds) sumSlopes(slope []int32) {
	for k := range b.ties {
		t := &b.ties[k]
		for i := t.at + 1; i < t.at+t.n; i++ {
			slope[i] += slope[i-1]
		}
	}
}

// owed is a tie whose first slate is got: what the second will pay is in the bound
// already, and is handed back. It begins at since or after a take-off, or later.
type owed struct {
	tie          int
	since, after int64
}

// owe lists the ties owed once a flight is flown from a state.
func (s *search) owe(f *flight, v []int32, done set) {
	m := s.m
	s.owed = s.owed[:0]
	for k := range s.b.ties {
		t := &s.b.ties[k]
		then := int(t.then)
		if done.has(then) || f.mask.has(then) || t.sum[0] == 0 {
			continue
		}
		o := owed{tie: k, since: int64(v[m.lay.avail+m.slates[then].avail])}
		if !done.has(int(t.first)) {
			if !f.mask.has(int(t.first)) {
				continue
			}
			for j, sl := range f.slates {
				if sl == t.first {
					o.after = f.offsets[j] + m.p.Slates[sl].flown()
				}
			}
		}
		s.owed = append(s.owed, o)
	}
}
