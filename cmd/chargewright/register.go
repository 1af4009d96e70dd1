package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"chargewright/paper"
	"chargewright/seal"
)

// issue takes the next number, keeps a copy of the certificate and enters it
// into the register, with nobody else at the register meanwhile. What was
// ordered before is handed out again.
func (f keyFolder) issue(o seal.Order, of func(seal.Register) (*paper.Issued, error)) (*paper.Issued, error) {
	free, err := f.hold()
	if err != nil {
		return nil, err
	}
	defer free()
	name, register, err := f.register()
	if err != nil {
		return nil, err
	}
	if e, ordered := register.Ordered(o); ordered {
		file, err := f.copyOf(e)
		if err != nil {
			return nil, err
		}
		return &paper.Issued{Statement: seal.Check(file).Statement, File: file}, nil
	}
	issued, err := of(register)
	if err != nil {
		return nil, err
	}
	kept, err := f.path(filepath.Join(copies, issued.FileName()))
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(kept), 0o700); err != nil {
		return nil, fmt.Errorf("make the folder for the copies: %w", err)
	}
	// The copy first: what is in the register can be handed out again.
	if err := replace(kept, issued.File); err != nil {
		return nil, fmt.Errorf("keep a copy of the certificate: %w", err)
	}
	return issued, enter(name, issued.Line)
}

// copies is the folder, beside the register, of what was issued.
const copies = "issued"

// copyOf reads the copy of an issue.
func (f keyFolder) copyOf(e seal.Entry) ([]byte, error) {
	name, err := f.path(filepath.Join(copies, e.FileName()))
	if err != nil {
		return nil, err
	}
	file, err := os.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("read the copy of %s, issue %d: %w", e.Number, e.Issue, err)
	}
	return file, nil
}

// abandoned is the age at which a hold on the register was left by an issue
// that was broken off: one takes a second.
const abandoned = time.Minute

// errHeld says that another issue is at the register.
var errHeld = errors.New("another issue is at the register")

// hold keeps a second issue from taking the same number at the same time.
func (f keyFolder) hold() (free func(), err error) {
	name, err := f.path("register.lock")
	if err != nil {
		return nil, err
	}
	if info, err := os.Stat(name); err == nil && time.Since(info.ModTime()) > abandoned {
		os.Remove(name)
	}
	lock, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, fmt.Errorf("%w (%s): try again in a minute", errHeld, name)
	}
	lock.Close()
	return func() { os.Remove(name) }, nil
}

// enter appends a line to the register.
func enter(name string, line []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return fmt.Errorf("write the register: %w", err)
	}
	if _, err := f.Write(line); err != nil {
		f.Close()
		return fmt.Errorf("write the register: %w", err)
	}
	if err := f.Sync(); err != nil {
		f.Close()
		return fmt.Errorf("write the register: %w", err)
	}
	return f.Close()
}
