// Command limits prints what the app's forms stand on as JSON: the rules of
// every record or, asked for "seeds", the kinds and foods that ship with the
// tool.
package main

import (
	"encoding/json"
	"fmt"
	"os"

	"underlog/internal/husbandry"
)

func main() {
	var printed any = husbandry.AllLimits()
	if len(os.Args) > 1 && os.Args[1] == "seeds" {
		printed = map[string]any{"kinds": husbandry.Kinds(), "foods": husbandry.Foods()}
	}
	encoder := json.NewEncoder(os.Stdout)
	encoder.SetIndent("", " ")
	if err := encoder.Encode(printed); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
