package app

import (
	"crypto/rand"
	"errors"
	"fmt"
	"os"

	"github.com/pocketbase/pocketbase/core"

	"underlog/backend/store"
)

// AddKeeper makes the account that opens the dashboard of a data folder, or
// gives the one with that address a new password, and returns the password.
// The server may be running on the folder.
func AddKeeper(data, email string) (password string, err error) {
	if _, err := os.Stat(data); err != nil {
		return "", fmt.Errorf("the data folder cannot be opened: %w", err)
	}
	pb := core.NewBaseApp(core.BaseAppConfig{DataDir: data, DBConnect: store.Open})
	if err := pb.Bootstrap(); err != nil {
		return "", fmt.Errorf("the data folder %s cannot be opened: %w", data, err)
	}
	defer func() { err = errors.Join(err, pb.ResetBootstrapState()) }()
	keeper, err := pb.FindAuthRecordByEmail(core.CollectionNameSuperusers, email)
	if err != nil {
		collection, err := pb.FindCollectionByNameOrId(core.CollectionNameSuperusers)
		if err != nil {
			return "", fmt.Errorf("the data folder %s is not set up: start the server on it first: %w", data, err)
		}
		keeper = core.NewRecord(collection)
		keeper.SetEmail(email)
	}
	password = rand.Text()
	keeper.SetPassword(password)
	if err := pb.Save(keeper); err != nil {
		return "", fmt.Errorf("the address %s cannot be used: give an e-mail address, real or not: %w", email, err)
	}
	return password, nil
}
