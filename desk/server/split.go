package server

import (
	"net"
	"sync"
	"time"
)

// handshakeByte begins every TLS connection: the record type "handshake" (RFC 8446, section 5.1).
const handshakeByte = 22

// firstByteWait is how long a connection may say nothing.
const firstByteWait = 10 * time.Second

// Split sorts the connections of one address: those that begin a TLS handshake, and those in plain text. Closing either
// closes both.
func Split(l net.Listener) (secure, plain net.Listener) {
	done := make(chan struct{})
	end := sync.OnceFunc(func() { close(done) })
	half := func() *sorted { return &sorted{Listener: l, come: make(chan net.Conn), done: done, end: end} }
	s, p := half(), half()
	go func() {
		defer end()
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go tell(c, s, p)
		}
	}()
	return s, p
}

// tell waits for the first byte: never in the way of the next connection.
func tell(c net.Conn, secure, plain *sorted) {
	var first [1]byte
	_ = c.SetReadDeadline(time.Now().Add(firstByteWait))
	n, _ := c.Read(first[:])
	_ = c.SetReadDeadline(time.Time{})
	if n == 0 {
		_ = c.Close() // it never said anything
		return
	}
	to := plain
	if first[0] == handshakeByte {
		to = secure
	}
	select {
	case to.come <- &peeked{Conn: c, first: first[:]}:
	case <-to.done:
		_ = c.Close()
	}
}

type sorted struct {
	net.Listener
	come chan net.Conn
	done chan struct{}
	end  func()
}

func (s *sorted) Accept() (net.Conn, error) {
	select {
	case c := <-s.come:
		return c, nil
	case <-s.done:
		return nil, net.ErrClosed
	}
}

func (s *sorted) Close() error {
	s.end()
	return s.Listener.Close()
}

// peeked gives the first byte back.
type peeked struct {
	net.Conn
	first []byte
}

func (p *peeked) Read(b []byte) (int, error) {
	if len(p.first) > 0 && len(b) > 0 {
		n := copy(b, p.first)
		p.first = p.first[n:]
		return n, nil
	}
	return p.Conn.Read(b)
}
