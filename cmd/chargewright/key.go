package main

import (
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"chargewright/seal"
)

type keyCmd struct {
	Firm   string `help:"Name of the firm, to make its first key."`
	Rotate bool   `help:"Make a new key that takes the place of the old one."`
	Revoke string `placeholder:"KEY" help:"End a former key that was lost or seen by others: its first 16 letters or more. Nothing it signed counts any more but what is in the register."`
	Why    string `help:"Why the key is revoked; it is printed on the key sheet."`
	keyFolder
}

// Run shows the firm's key, makes the first one, or a new one in its place. A
// key is never overwritten: an old one is kept beside the new.
func (c *keyCmd) Run(out io.Writer) error {
	name, content, err := c.keyFile()
	if err != nil {
		return err
	}
	switch {
	case content == nil && c.Firm == "":
		return fmt.Errorf("there is no key in %s: chargewright key --firm \"NAME OF THE FIRM\" makes one", filepath.Dir(name))
	case content == nil && c.Rotate:
		return errors.New("there is no key to take the place of: leave --rotate out")
	case content != nil && c.Firm != "" && !c.Rotate:
		return fmt.Errorf("there is a key in %s already: --rotate makes a new one in its place", filepath.Dir(name))
	}
	var k *seal.Key
	switch {
	case content == nil:
		if k, err = c.first(name); err != nil {
			return err
		}
		fmt.Fprintf(out, "made a key for %s in %s\n", k.Firm, name)
		fmt.Fprintln(out, "Keep a copy of the folder and the passphrase apart from each other: neither can be made again.")
	case c.Rotate:
		if k, err = c.rotate(name, content); err != nil {
			return err
		}
		fmt.Fprintf(out, "made a new key for %s in %s; the old one names it as its successor and is kept beside it\n", k.Firm, name)
	default:
		if k, err = seal.PublicKey(content); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	if c.Revoke != "" {
		if err := c.revoke(k); err != nil {
			return err
		}
		fmt.Fprintf(out, "revoked the key %s; hand out the new key sheet\n", c.Revoke)
	}
	_, register, err := c.register()
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "public key  %s\nfirm        %s\nmade        %s\n", k.Public, k.Firm, k.Made.Format(time.DateOnly))
	for _, s := range k.Former {
		fmt.Fprintf(out, "before it   %s until %s\n", s.Old, s.When)
	}
	var sheet bytes.Buffer
	if err := k.Sheet(register).PDF(&sheet); err != nil {
		return err
	}
	at := filepath.Join(filepath.Dir(name), "key-sheet.pdf")
	if err := replace(at, sheet.Bytes()); err != nil {
		return fmt.Errorf("write the key sheet: %w", err)
	}
	fmt.Fprintf(out, "key sheet   %s, with the public key as a QR code: give it to clients and inspectors\n", at)
	return nil
}

func (c *keyCmd) first(name string) (*seal.Key, error) {
	k, err := seal.NewKey(c.Firm, time.Now(), rand.Reader)
	if err != nil {
		return nil, err
	}
	p, err := passphrase(true)
	if err != nil {
		return nil, err
	}
	locked, err := k.Lock(p, rand.Reader)
	if err != nil {
		return nil, err
	}
	return k, writeOnce(name, locked)
}

func (c *keyCmd) rotate(name string, content []byte) (*seal.Key, error) {
	p, err := passphrase(false)
	if err != nil {
		return nil, err
	}
	old, err := seal.Unlock(content, p)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	k, err := old.Rotate(time.Now(), rand.Reader)
	if err != nil {
		return nil, err
	}
	locked, err := k.Lock(p, rand.Reader)
	if err != nil {
		return nil, err
	}
	kept := filepath.Join(filepath.Dir(name), "former-"+old.Public[:16]+".json")
	if err := writeOnce(kept, content); err != nil {
		return nil, err
	}
	fresh := name + ".new"
	if err := writeOnce(fresh, locked); err != nil {
		return nil, err
	}
	if err := os.Rename(fresh, name); err != nil { // in one step: there is a key at any time
		return nil, fmt.Errorf("put the new key in place: %w", err)
	}
	return k, c.end(k, seal.KeyReplaced, old.Public, "by "+k.Public)
}

// revoke ends a former key of the firm. The key in use is replaced first.
func (c *keyCmd) revoke(k *seal.Key) error {
	if c.Why == "" {
		return errors.New("say with --why what became of the key: it is printed on the key sheet")
	}
	public := ""
	for _, s := range k.Former {
		if len(c.Revoke) >= 16 && strings.HasPrefix(s.Old, c.Revoke) {
			public = s.Old
		}
	}
	if public == "" {
		return fmt.Errorf("%q is no former key of this firm: give the first 16 letters of one or more; the key in use is first replaced, with --rotate", c.Revoke)
	}
	name, content, err := c.keyFile() // a new one, where it was just replaced
	if err != nil {
		return err
	}
	p, err := passphrase(false)
	if err != nil {
		return err
	}
	opened, err := seal.Unlock(content, p)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return c.end(opened, seal.KeyRevoked, public, c.Why)
}

// end enters the end of a key into the register.
func (c *keyCmd) end(k *seal.Key, kind, public, why string) error {
	free, err := c.hold()
	if err != nil {
		return err
	}
	defer free()
	name, register, err := c.register()
	if err != nil {
		return err
	}
	return enter(name, register.End(kind, public, why, time.Now(), k))
}

// writeOnce writes a file that only its owner may read, and never over another.
func writeOnce(name string, content []byte) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return fmt.Errorf("make the folder for the key: %w", err)
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("write the key: %w", err)
	}
	if _, err := f.Write(content); err != nil {
		f.Close()
		return fmt.Errorf("write the key: %w", err)
	}
	if err := f.Sync(); err != nil {
		f.Close()
		return fmt.Errorf("write the key: %w", err)
	}
	return f.Close()
}
