package job_test

import (
	"strings"
	"testing"

	"runnel/job"
)

func TestLoadBench(t *testing.T) {
	const head = "id = \"b\"\n[[meters]]\nid = \"p\"\nkind = \"orifice_chamber\"\nbore = \"60 mm\"\n"
	sensor := "[[sensors]]\nchannel = \"meter_dp\"\nrole = \"meter_dp\"\nunit = \"Pa\"\nsource = \"serial:/dev/ttyUSB0#meter_dp\"\n"
	b, err := job.LoadBench("my.toml", []byte(head+sensor))
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Sensors) != 1 || b.Sensors[0].Source != "serial:/dev/ttyUSB0#meter_dp" || b.Meters[0].Bore != 0.06 {
		t.Errorf("read %+v", b)
	}
	for _, c := range []struct{ text, want string }{
		{head + sensor + sensor, "my.toml:12:11"},
		{head + strings.Replace(sensor, `"Pa"`, `"stones"`, 1), `unit "stones" is not known`},
		{head + "sensor = 1\n" + sensor, "my.toml:6"},
		{"", "id"},
	} {
		_, err := job.LoadBench("my.toml", []byte(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: got %v, want %s", c.text, err, c.want)
		}
	}
}
