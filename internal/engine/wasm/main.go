//go:build js && wasm

// Command wasm is the engine for the phone: it hangs one object on the
// global scope of a web worker, underlogEngine, whose functions take and
// return JSON text, and calls underlogEngineReady when it is up. A function
// that fails throws an Error with a sentence.
package main

import (
	"encoding/json"
	"fmt"
	"syscall/js"
	"time"

	"underlog/internal/engine"
	"underlog/internal/zone"
)

func main() {
	e := engine.New()
	js.Global().Set("underlogEngine", js.ValueOf(map[string]any{
		"put": function(1, func(args []string) (any, error) { return nil, e.PutJSON([]byte(args[0])) }),
		"reset": function(0, func([]string) (any, error) {
			e.Reset()
			return nil, nil
		}),
		"survey": function(1, func(args []string) (any, error) {
			at, err := moment(args[0])
			return e.Survey(at), err
		}),
		"outlook": function(2, func(args []string) (any, error) {
			at, err := moment(args[1])
			return e.Outlook(args[0], at), err
		}),
		"trouble": function(2, func(args []string) (any, error) {
			at, err := moment(args[1])
			if err != nil {
				return nil, err
			}
			return e.Trouble(args[0], at), nil
		}),
		"trip": function(2, func(args []string) (any, error) {
			at, err := moment(args[1])
			if err != nil {
				return nil, err
			}
			return e.TripJSON([]byte(args[0]), at)
		}),
		"feeding": function(2, func(args []string) (any, error) {
			at, err := moment(args[1])
			if err != nil {
				return nil, err
			}
			return e.FeedingJSON([]byte(args[0]), at)
		}),
		"foodPaces": function(1, func(args []string) (any, error) {
			at, err := moment(args[0])
			if err != nil {
				return nil, err
			}
			return e.FoodPaces(at), nil
		}),
		"renewals": function(2, func(args []string) (any, error) {
			at, err := moment(args[0])
			if err != nil {
				return nil, err
			}
			return e.Renewals(at, args[1] == "steady")
		}),
		"larder": function(1, func(args []string) (any, error) {
			at, err := moment(args[0])
			if err != nil {
				return nil, err
			}
			return e.Larder(at), nil
		}),
		"tripReport": function(2, func(args []string) (any, error) {
			at, err := moment(args[1])
			if err != nil {
				return nil, err
			}
			return e.TripReportJSON([]byte(args[0]), at)
		}),
		"tripCalendar": function(2, func(args []string) (any, error) {
			at, err := moment(args[1])
			if err != nil {
				return nil, err
			}
			return e.TripCalendarJSON([]byte(args[0]), at)
		}),
		"zone": function(2, func(args []string) (any, error) { return nil, setZone(args[0], []byte(args[1])) }),
		"check": function(2, func(args []string) (any, error) {
			now, err := moment(args[1])
			if err != nil {
				return nil, err
			}
			return engine.CheckJSON([]byte(args[0]), now)
		}),
	}))
	if ready := js.Global().Get("underlogEngineReady"); ready.Type() == js.TypeFunction {
		ready.Invoke()
	}
	select {} // keeps the functions alive
}

// household is the zone of the household, nil until it is told: times come
// with an offset, which alone does not say when clocks will be changed.
var household *time.Location

func setZone(name string, raw []byte) error {
	var changes []zone.Change
	if err := json.Unmarshal(raw, &changes); err != nil {
		return fmt.Errorf("the zone %s cannot be read: %w", name, err)
	}
	made, err := zone.New(name, changes)
	if err == nil {
		household = made
	}
	return err
}

func moment(text string) (time.Time, error) {
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return at, fmt.Errorf("the time is %q: give one such as 2026-06-01T08:00:00+02:00", text)
	}
	if household != nil {
		at = at.In(household)
	}
	return at, nil
}

// function wraps a Go function of strings for JavaScript. Its answer is JSON
// text, or undefined for nil. An error, or a panic, becomes an object with the
// one property error, which the worker's glue throws: a Go function cannot
// throw by itself.
func function(arity int, call func([]string) (any, error)) js.Func {
	return js.FuncOf(func(_ js.Value, values []js.Value) (answer any) {
		defer func() {
			if reason := recover(); reason != nil {
				answer = failure(fmt.Sprint("the engine failed: ", reason))
			}
		}()
		if len(values) != arity {
			return failure(fmt.Sprintf("this takes %d arguments, not %d", arity, len(values)))
		}
		args := make([]string, arity)
		for i, value := range values {
			args[i] = value.String()
		}
		result, err := call(args)
		if err != nil {
			return failure(err.Error())
		}
		if result == nil {
			return js.Undefined()
		}
		raw, err := json.Marshal(result)
		if err != nil {
			return failure(err.Error())
		}
		return string(raw)
	})
}

func failure(sentence string) js.Value {
	return js.ValueOf(map[string]any{"error": sentence})
}
