package form_test

import (
	"fmt"

	"putlog/jobs/form"
)

func Example() {
	type task struct {
		Name  string   `form:"task"`
		Takes string   `form:"takes" eg:"1d"`
		After []string `form:"after,optional,lone"`
	}
	type plan struct {
		Title string `form:"title"`
		Tasks []task `form:"tasks"`
	}
	src := "title: Cart shed\ntasks:\n- {task: probe, takes: 0.5d}\n- {task: pour, after: probe}\n"

	var faulty plan
	fmt.Println(form.Read("shed.yaml", []byte(src), &faulty,
		func(note func(path, what, do string), _ bool) {
			note("tasks[1].after[0]", "the slab is not cored yet", "wait")
		}))

	var good plan
	fmt.Println(form.Read("shed.yaml", []byte(src[:len(src)-2]+", takes: 1d}"), &good, nil))
	fmt.Printf("%s%s\n", form.Encode(good).YAML(), form.Encode(good.Tasks[1]).JSON())
	// Output:
	// shed.yaml:4:3: item 2 of tasks has no takes; try: add takes: 1d
	// shed.yaml:4:23: the slab is not cored yet; try: wait
	// <nil>
	// title: Cart shed
	// tasks:
	//   - {task: probe, takes: 0.5d}
	//   - {task: pour, takes: 1d, after: [probe]}
	// {"task":"pour","takes":"1d","after":["probe"]}
}
