package main

import (
	"io"
	"os"
	"testing"
	"time"

	"chargewright/design"
	"chargewright/job"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/prove"
	"chargewright/standard"
)

// BenchmarkReadAndCheckPool is twelve points from the file's text to findings.
func BenchmarkReadAndCheckPool(b *testing.B) {
	text, err := os.ReadFile("../../examples/pool/job.yaml")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		j, err := job.Read("job.yaml", text)
		if err != nil {
			b.Fatal(err)
		}
		rules, err := standard.Open(j.Edition)
		if err != nil {
			b.Fatal(err)
		}
		design.Check(model.New(j, rules))
	}
}

// BenchmarkCheckPool is the checking alone, of a job already read.
func BenchmarkCheckPool(b *testing.B) {
	m, err := open("../../examples/pool/job.yaml")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		design.Check(model.New(m.Job, m.Rules))
	}
}

// BenchmarkPackBakery is every paper of one point, in memory.
func BenchmarkPackBakery(b *testing.B) {
	m, err := open("../../examples/bakery/job.yaml")
	if err != nil {
		b.Fatal(err)
	}
	made := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	b.ReportAllocs()
	for b.Loop() {
		files, err := paper.Pack(m, design.Check(m), prove.Expect(m), nil, made)
		if err != nil {
			b.Fatal(err)
		}
		for _, f := range files {
			if _, err := io.Discard.Write(f.Content); err != nil {
				b.Fatal(err)
			}
		}
	}
}
