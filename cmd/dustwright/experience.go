package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"dustwright/judge"
)

// experienceFile is where a folder keeps what its plant knows better than the lists of causes and checks.
const experienceFile = "experience.toml"

// loadExperience reads such a file.
func loadExperience(path string) (judge.Experience, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return judge.Experience{}, fmt.Errorf("what the plant knows better cannot be read: %w", err)
	}
	return judge.ParseExperience(path, data)
}

// experienceIn reads that of a folder; most have none.
func experienceIn(folder string) (judge.Experience, error) {
	known, err := loadExperience(filepath.Join(folder, experienceFile))
	if errors.Is(err, fs.ErrNotExist) {
		return judge.Experience{}, nil
	}
	return known, err
}

// experience is the one that was given, or else that of a folder, "" for none.
func (j *judgeCmd) experience(folder string) (judge.Experience, error) {
	switch {
	case j.Experience != "":
		return loadExperience(j.Experience)
	case folder != "":
		return experienceIn(folder)
	}
	return judge.Experience{}, nil
}
