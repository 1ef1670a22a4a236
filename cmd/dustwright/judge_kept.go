package main

import (
	"errors"
	"fmt"
	"time"

	"dustwright/plant"
	"dustwright/store"
)

// kept judges every collector of a data folder as its pages do, from the readings, the work and the answers to checks
// kept there. The folder is only read; it may be in use.
func (j *judgeCmd) kept(e *env) error {
	if j.Mapping != "" {
		return fmt.Errorf("--mapping says how logs are spelled, and %s is a data folder: leave it out", j.Collector)
	}
	at, err := moment(j.At, time.Local)
	if err != nil {
		return err
	}
	known, err := j.experience(j.Collector)
	if err != nil {
		return err
	}
	s, err := store.OpenReadOnly(e.ctx, j.Collector)
	if err != nil {
		return err
	}
	service := plant.NewService(plant.ServiceOptions{Keeper: s, Now: e.now, Zone: time.Local, Experience: known})
	list, err := j.books(e, s, service, at)
	if err := errors.Join(err, s.Close()); err != nil {
		return err
	}
	return j.show(e, list)
}

// books judges every collector in the books.
func (j *judgeCmd) books(e *env, s *store.Store, service *plant.Service, at time.Time) ([]*plant.Judgement, error) {
	machines, err := s.Collectors(e.ctx)
	if err != nil {
		return nil, err
	}
	if len(machines) == 0 {
		return nil, fmt.Errorf("%s: there is no collector in the books yet; take one in with dustwright import --data %s --collector FILE.toml LOG.csv", j.Collector, j.Collector)
	}
	return j.all(e, len(machines), func(_ *env, i int) (*plant.Judgement, error) {
		answer, err := service.Assess(e.ctx, machines[i].Tag, at)
		if errors.Is(err, plant.ErrNothingRead) && j.At != "" {
			return nil, fmt.Errorf("%w up to --at %s", err, j.At)
		}
		return answer, err
	})
}
