package web

import (
	"encoding/json"
	"fmt"
)

// jsonAnswer makes an answer in JSON.
func jsonAnswer(v any) (*answer, error) {
	body, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("the answer can't be written as JSON: %w", err)
	}
	return newAnswer("application/json", append(body, '\n')), nil
}
