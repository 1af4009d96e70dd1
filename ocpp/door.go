package ocpp

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"strings"
	"time"
	"unicode/utf8"
)

// Certificate makes a certificate for a link that is good for some time, for
// the names and addresses given, and returns it with its text for the point to
// trust. It is never stored.
func Certificate(now time.Time, good time.Duration, hosts ...string) (tls.Certificate, []byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return tls.Certificate{}, nil, fmt.Errorf("make a key for the link: %w", err)
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return tls.Certificate{}, nil, fmt.Errorf("make a serial number: %w", err)
	}
	template := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: "commissioning"},
		NotBefore: now.Add(-time.Hour), NotAfter: now.Add(good),
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign, IsCA: true, BasicConstraintsValid: true,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	for _, h := range hosts {
		if ip := net.ParseIP(h); ip != nil {
			template.IPAddresses = append(template.IPAddresses, ip)
		} else if h != "" {
			template.DNSNames = append(template.DNSNames, h)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		return tls.Certificate{}, nil, fmt.Errorf("make a certificate for the link: %w", err)
	}
	text := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, text, nil
}

// Lengths of the password of a link.
//
//	source  OCPP 1.6 security whitepaper A00.FR.205: 16 to 20 bytes, entered as
//	        up to 40 hexadecimal digits; OCPP 2.0.1 Part 2 BasicAuthPassword: 16
//	        to 40 letters (confirmed)
const (
	shortestPassword = 16
	longestPassword  = 40
)

// NewPassword makes a password for one link: 16 bytes as hexadecimal digits,
// which both versions take.
func NewPassword() string {
	key := make([]byte, shortestPassword)
	_, _ = rand.Read(key) // never fails
	return hex.EncodeToString(key)
}

// CheckPassword refuses a password that no point of either version has.
func CheckPassword(password string) error {
	if n := len(password); n < shortestPassword || n > longestPassword || strings.ContainsFunc(password, func(r rune) bool { return r <= ' ' || r > '~' }) {
		return fmt.Errorf("the password of the link has %d letters: %d to %d are wanted, without spaces (OCPP 1.6 security whitepaper, OCPP 2.0.1 Part 2)",
			utf8.RuneCountInString(password), shortestPassword, longestPassword)
	}
	return nil
}

// opens reports whether a password that a point gave is the one of the link:
// as it is written, or as the bytes that its hexadecimal digits stand for. By
// the whitepaper a 1.6 point sends the bytes; many send the digits (common
// practice, no source).
func opens(given, password string) bool {
	if same(given, password) {
		return true
	}
	key, err := hex.DecodeString(password)
	return err == nil && len(key) >= shortestPassword && same(given, string(key))
}

// same compares without telling by its time how much was right.
func same(a, b string) bool {
	x, y := sha256.Sum256([]byte(a)), sha256.Sum256([]byte(b))
	return subtle.ConstantTimeCompare(x[:], y[:]) == 1
}

// Secured says how the links are secured.
func (c *Central) Secured() string {
	return c.gate.Secured(c.options.Password != "")
}

// Secured says how a link of the gate is secured that asks for a password or
// does not.
//
//	source  OCPP 1.6 security whitepaper, profiles 1 to 3 (confirmed)
func (g *Gate) Secured(password bool) string {
	overTLS := g.options.TLS != nil
	switch {
	case overTLS && password:
		return "TLS and password (security profile 2)"
	case overTLS:
		return "TLS, no password"
	case password:
		return "password in plain (security profile 1): for a test network only"
	}
	return "plain, no password: for a bench only; a point in service needs security profile 2 or 3"
}
