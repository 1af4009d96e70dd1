package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/term"

	"chargewright/seal"
)

// passphraseVariable is where a passphrase may stand. It is never an argument:
// arguments are seen by everyone on the machine.
const passphraseVariable = "CHARGEWRIGHT_PASSPHRASE"

// keyFolder is where the key and the register of a firm stand.
type keyFolder struct {
	Keys string `name:"keys" placeholder:"FOLDER" help:"Folder of the firm's key and register; chargewright in your settings folder if left out."`
}

func (f keyFolder) path(name string) (string, error) {
	folder := f.Keys
	if folder == "" {
		settings, err := os.UserConfigDir()
		if err != nil {
			return "", fmt.Errorf("find the folder for the key: %w; name one with --keys", err)
		}
		folder = filepath.Join(settings, "chargewright")
	}
	return filepath.Join(folder, name), nil
}

const (
	keyName      = "key.json"
	registerName = "register.jsonl"
)

// keyFile reads the firm's key file; none is no error.
func (f keyFolder) keyFile() (name string, content []byte, err error) {
	if name, err = f.path(keyName); err != nil {
		return "", nil, err
	}
	content, err = os.ReadFile(name)
	if errors.Is(err, os.ErrNotExist) {
		return name, nil, nil
	}
	if err != nil {
		return name, nil, fmt.Errorf("read the key: %w", err)
	}
	return name, content, nil
}

// publicKey reads what is public of the firm's key; no key is no error.
func (f keyFolder) publicKey() (*seal.Key, error) {
	_, content, err := f.keyFile()
	if err != nil || content == nil {
		return nil, err
	}
	return seal.PublicKey(content)
}

// register reads the firm's register; none is an empty one.
func (f keyFolder) register() (name string, r seal.Register, err error) {
	if name, err = f.path(registerName); err != nil {
		return "", nil, err
	}
	text, err := os.ReadFile(name)
	if errors.Is(err, os.ErrNotExist) {
		return name, nil, nil
	}
	if err != nil {
		return name, nil, fmt.Errorf("read the register: %w", err)
	}
	firm, err := f.publicKey()
	if err != nil {
		return name, nil, err
	}
	if r, err = seal.ReadRegister(text, firm); err != nil {
		return name, nil, fmt.Errorf("%s: %w", name, err)
	}
	return name, r, nil
}

// passphrase asks for the passphrase, twice where it is a new one.
func passphrase(anew bool) ([]byte, error) {
	if p := os.Getenv(passphraseVariable); p != "" {
		return []byte(p), nil
	}
	in := int(os.Stdin.Fd())
	if !term.IsTerminal(in) {
		return nil, fmt.Errorf("the key wants its passphrase: set %s, or run this on a terminal", passphraseVariable)
	}
	ask := func(what string) ([]byte, error) {
		fmt.Fprint(os.Stderr, what+": ")
		p, err := term.ReadPassword(in)
		fmt.Fprintln(os.Stderr)
		if err != nil {
			return nil, fmt.Errorf("read the passphrase: %w", err)
		}
		return p, nil
	}
	if !anew {
		return ask("passphrase of the key")
	}
	once, err := ask("new passphrase, 12 letters or more")
	if err != nil {
		return nil, err
	}
	again, err := ask("the same again")
	if err != nil {
		return nil, err
	}
	if !bytes.Equal(once, again) {
		return nil, errors.New("the two passphrases differ; nothing was made")
	}
	return once, nil
}
