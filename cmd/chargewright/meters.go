package main

import (
	"context"
	"fmt"

	"chargewright/commission"
	"chargewright/web"
)

// meters reads meters for the pages.
type meters struct{}

// Read reads a meter once.
func (meters) Read(ctx context.Context, o web.MeterOrder) (commission.MeterReading, error) {
	m, err := commission.ReachMeter(o.Address, o.Registers, o.Unit)
	if err != nil {
		return commission.MeterReading{}, err
	}
	defer m.Close()
	return m.Read(ctx)
}

// Scan asks who answers.
func (meters) Scan(ctx context.Context, o web.MeterOrder, from, to uint8) ([]string, error) {
	m, err := commission.ReachMeter(o.Address, o.Registers, o.Unit)
	if err != nil {
		return nil, err
	}
	defer m.Close()
	var found []string
	_, err = m.Scan(ctx, from, to, func(unit uint8, text string) { found = append(found, fmt.Sprintf("address %d %s", unit, text)) })
	return found, err
}
