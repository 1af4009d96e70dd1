package main

import (
	"fmt"
	"os"

	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// open reads a job file and makes its model.
func open(file string) (*model.Model, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("cannot read the job file: %w", err)
	}
	j, err := job.Read(file, text)
	if err != nil {
		return nil, err
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return model.New(j, rules), nil
}
