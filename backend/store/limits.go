package store

import "github.com/pocketbase/pocketbase/core"

func init() {
	core.AppMigrations.Register(limitPairing, nil, "4_pairing.go")
}

// limitPairing makes guessing codes slow. A code has 49 bits and lasts five
// minutes; at this pace the odds of guessing one are 1 in 10^13.
func limitPairing(app core.App) error {
	settings := app.Settings()
	settings.RateLimits.Rules = append(settings.RateLimits.Rules,
		core.RateLimitRule{Label: "POST /api/underlog/pairing/claim", MaxRequests: 10, Duration: 60})
	return app.Save(settings)
}
