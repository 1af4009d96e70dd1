package main

import (
	"context"
	"fmt"

	"chargewright/meter"
	"chargewright/web"
)

// meters reads meters for the pages.
type meters struct{}

// Read reads a meter once.
func (meters) Read(ctx context.Context, o web.MeterOrder) (meter.Reading, error) {
	m, err := meter.Reach(o.Address, o.Registers, o.Unit)
	if err != nil {
		return meter.Reading{}, err
	}
	defer m.Close()
	return m.Read(ctx)
}

// Scan asks who answers.
func (meters) Scan(ctx context.Context, o web.MeterOrder, from, to uint8) ([]string, error) {
	m, err := meter.Reach(o.Address, o.Registers, o.Unit)
	if err != nil {
		return nil, err
	}
	defer m.Close()
	var found []string
	_, err = m.Scan(ctx, from, to, func(unit uint8, text string) { found = append(found, fmt.Sprintf("address %d %s", unit, text)) })
	return found, err
}
