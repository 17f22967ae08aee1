package jobs

import (
	_ "embed" // the demonstration's job file

	"putlog/schedule"
)

//go:embed demo/cart-shed.yaml
var demoFile []byte

// Demo gives the invented job of the demonstration and the day on which the
// demonstration stands.
func Demo() (*Job, schedule.Day, error) {
	j, err := ReadJob("cart-shed.yaml", demoFile)
	if err != nil {
		return nil, 0, err
	}
	return j, schedule.Instant(j.Start).Day() - 7, nil
}
