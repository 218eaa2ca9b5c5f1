// Command limits prints the rules of every record as JSON, for the app's
// forms.
package main

import (
	"encoding/json"
	"fmt"
	"os"

	"underlog/internal/husbandry"
)

func main() {
	encoder := json.NewEncoder(os.Stdout)
	encoder.SetIndent("", " ")
	if err := encoder.Encode(husbandry.AllLimits()); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
