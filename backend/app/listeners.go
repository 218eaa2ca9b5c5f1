package app

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"
)

// listeners are several listeners as one, so that one server answers on this
// machine in plain and to all others securely.
type listeners struct {
	parts  []net.Listener
	lines  chan net.Conn
	closed chan struct{}
	close  sync.Once
}

// listen takes the plain address and, if there is one, the secure one.
func listen(plain string, secure Secure) (*listeners, error) {
	l := &listeners{lines: make(chan net.Conn), closed: make(chan struct{})}
	add := func(address string, config *tls.Config) error {
		part, err := net.Listen("tcp", address)
		if err != nil {
			return fmt.Errorf("the address %s cannot be used: %w", address, err)
		}
		if config != nil {
			part = tls.NewListener(part, config)
		}
		l.parts = append(l.parts, part)
		return nil
	}
	err := add(plain, nil)
	if err == nil && secure.TLS != nil {
		err = add(secure.Addr, secure.TLS)
	}
	if err != nil {
		return nil, errors.Join(err, l.Close())
	}
	for _, part := range l.parts {
		go l.take(part)
	}
	return l, nil
}

// take hands lines on until the listener is closed. Anything else that goes
// wrong, such as too many open lines, passes.
func (l *listeners) take(part net.Listener) {
	for {
		line, err := part.Accept()
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil {
			time.Sleep(50 * time.Millisecond)
			continue
		}
		select {
		case l.lines <- line:
		case <-l.closed:
			_ = line.Close()
			return
		}
	}
}

// Accept returns the next line, whichever listener it came to.
func (l *listeners) Accept() (net.Conn, error) {
	select {
	case line := <-l.lines:
		return line, nil
	case <-l.closed:
		return nil, net.ErrClosed
	}
}

// Close stops listening.
func (l *listeners) Close() error {
	var err error
	l.close.Do(func() {
		close(l.closed)
		for _, part := range l.parts {
			err = errors.Join(err, part.Close())
		}
	})
	return err
}

// Addr is the plain address.
func (l *listeners) Addr() net.Addr { return l.parts[0].Addr() }

// secureAddr is the secure address, nil where there is none.
func (l *listeners) secureAddr() net.Addr {
	if len(l.parts) < 2 {
		return nil
	}
	return l.parts[1].Addr()
}
