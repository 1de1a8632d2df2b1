// Package tls stands in for the release's crypto/tls in the program for the browser, which
// opens no connection: there the browser does that. It has what net/http names of the
// release's, does nothing, and says so in an error.
package tls

import (
	"context"
	"errors"
	"net"
)

var errNone = errors.New("tls: there is none in this program")

// Certificate is none.
type Certificate struct{}

// ClientHelloInfo is none.
type ClientHelloInfo struct{}

// Config has the fields that net/http names.
type Config struct {
	Certificates       []Certificate
	GetCertificate     func(*ClientHelloInfo) (*Certificate, error)
	GetConfigForClient func(*ClientHelloInfo) (*Config, error)
	ServerName         string
	NextProtos         []string
}

// Clone is a copy; nil of nil.
func (c *Config) Clone() *Config {
	if c == nil {
		return nil
	}
	d := *c
	return &d
}

// ConnectionState has the fields that net/http names.
type ConnectionState struct {
	NegotiatedProtocol         string
	NegotiatedProtocolIsMutual bool
	ServerName                 string
	HandshakeComplete          bool
}

// Conn is a connection that never comes about.
type Conn struct{ net.Conn }

// Client is a connection whose handshake fails.
func Client(c net.Conn, _ *Config) *Conn { return &Conn{c} }

// Handshake fails.
func (*Conn) Handshake() error { return errNone }

// HandshakeContext fails.
func (*Conn) HandshakeContext(context.Context) error { return errNone }

// ConnectionState is that of no connection.
func (*Conn) ConnectionState() ConnectionState { return ConnectionState{} }

// VerifyHostname fails.
func (*Conn) VerifyHostname(string) error { return errNone }

// NetConn is what is beneath.
func (c *Conn) NetConn() net.Conn { return c.Conn }

// none is a listener to which nobody comes.
type none struct{ net.Listener }

func (none) Accept() (net.Conn, error) { return nil, errNone }

// NewListener is a listener to which nobody comes.
func NewListener(l net.Listener, _ *Config) net.Listener { return none{l} }

// LoadX509KeyPair fails.
func LoadX509KeyPair(string, string) (Certificate, error) { return Certificate{}, errNone }

// RecordHeaderError is never met.
type RecordHeaderError struct {
	Msg          string
	RecordHeader [5]byte
	Conn         net.Conn
}

func (e RecordHeaderError) Error() string { return e.Msg }
