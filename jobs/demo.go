package jobs

import _ "embed" // the demonstration's job file

//go:embed demo/cart-shed.yaml
var demoFile []byte

// Demo gives the invented job of the demonstration.
func Demo() (*Job, error) { return ReadJob("cart-shed.yaml", demoFile) }
