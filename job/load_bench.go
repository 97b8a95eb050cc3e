package job

import "reflect"

// LoadBench reads a bench card that stands alone in a file, such as the one a bench is set up with before there is a job.
// name is used in messages. Everything wrong with it is listed at once: the error is a Problems.
func LoadBench(name string, data []byte) (Bench, error) {
	var b Bench
	src, ps := tomlSource(name, data)
	if len(ps) > 0 {
		return Bench{}, ps.err()
	}
	d := decode(src, &b)
	ps = d.problems
	if !d.broken {
		c := &checker{job: &Job{Bench: b}, ids: map[string]map[string]spot{}, place: func(_, key string) (int, int) { return d.place(key) }}
		c.tell(ps)
		c.walk(reflect.ValueOf(&c.job.Bench).Elem(), name, "")
		c.resolve()
		c.bench()
		for _, p := range c.problems {
			p.File = name
			ps = append(ps, p)
		}
	}
	if err := ps.sorted().err(); err != nil {
		return Bench{}, err
	}
	return b, nil
}
