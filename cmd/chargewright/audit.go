package main

import (
	"context"
	"fmt"
	"io"

	"chargewright/store"
)

type auditCmd struct {
	Store string `arg:"" help:"File that holds the journal." type:"existingfile"`
}

// Run reads a journal through and says whether it is as it was written.
func (c *auditCmd) Run(out io.Writer) error {
	ctx := context.Background()
	journal, err := store.Open(ctx, c.Store)
	if err != nil {
		return err
	}
	defer journal.Close()
	found, err := journal.Audit(ctx)
	if err != nil {
		return err
	}
	tell(out, found)
	for _, wrong := range found.Wrong {
		fmt.Fprintln(out, "wrong:", wrong)
	}
	if len(found.Wrong) > 0 {
		return outcome{exitFails}
	}
	fmt.Fprintln(out, "as it was written: every act follows in the chain from the one before it")
	return nil
}

// tell says what a journal holds.
func tell(out io.Writer, found store.Audited) {
	fmt.Fprintf(out, "%d acts, %d entries, %d photos\n", found.Acts, found.Entries, found.Photos)
	if found.Unchained > 0 {
		fmt.Fprintf(out, "%d of the acts were kept before there was a chain\n", found.Unchained)
	}
	fmt.Fprintf(out, "end of the chain: %s\n(note it apart: a journal that was cut short, or put in this one's place, ends otherwise)\n", found.Chain)
}

type copyCmd struct {
	Store string `arg:"" help:"File that holds the journal; it may be in use." type:"existingfile"`
	To    string `arg:"" help:"File to write the copy into; it must not be there."`
}

// Run copies a journal while it is in use, and reads the copy through.
func (c *copyCmd) Run(out io.Writer) error {
	ctx := context.Background()
	journal, err := store.Open(ctx, c.Store)
	if err != nil {
		return err
	}
	defer journal.Close()
	found, err := journal.Copy(ctx, c.To)
	if err != nil {
		return err
	}
	tell(out, found)
	fmt.Fprintf(out, "%s: read back, it is whole\n", c.To)
	return nil
}
