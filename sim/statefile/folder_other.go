//go:build !windows

package statefile

import (
	"errors"
	"os"
)

// syncFolder makes a new name in a folder survive a loss of power.
func syncFolder(path string) error {
	folder, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}
