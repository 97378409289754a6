//go:build race

package test

func init() { raceDetector = true }
