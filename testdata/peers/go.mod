module peers

go 1.26.0

require (
	github.com/rickar/cal/v2 v2.1.26
	gonum.org/v1/gonum v0.17.0
	putlog v0.0.0
)

replace putlog => ../..
