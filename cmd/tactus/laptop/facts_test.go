package laptop_test

import (
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"

	"tactus/cmd/tactus/laptop"
)

func files(pairs ...string) fstest.MapFS {
	m := fstest.MapFS{}
	for i := 0; i < len(pairs); i += 2 {
		m[pairs[i]] = &fstest.MapFile{Data: []byte(pairs[i+1] + "\n")}
	}
	return m
}

// Each fact is read from the file that the kernel keeps it in.
func TestLook(t *testing.T) {
	const power, cpu = "sys/class/power_supply/", "sys/devices/system/cpu/cpu0/cpufreq/"
	for _, c := range []struct {
		name string
		root fstest.MapFS
		want laptop.Facts
	}{
		{"nothing to see", files(), laptop.Facts{}},
		{"battery", files(power+"BAT0/type", "Battery", power+"BAT0/status", "Discharging", power+"AC/type", "Mains", power+"AC/online", "0"), laptop.Facts{Battery: true}},
		{"charger", files(power+"BAT0/type", "Battery", power+"BAT0/status", "Discharging", power+"AC/type", "Mains", power+"AC/online", "1"), laptop.Facts{}},
		{"full", files(power+"BAT0/type", "Battery", power+"BAT0/status", "Full"), laptop.Facts{}},
		{"a mouse", files(power+"hid/type", "Battery", power+"hid/scope", "Device", power+"hid/status", "Discharging"), laptop.Facts{}},
		{"governor", files(cpu+"scaling_governor", "powersave", cpu+"scaling_driver", "acpi-cpufreq"), laptop.Facts{Saving: "the processor's governor is powersave"}},
		{"a driver of its own", files(cpu+"scaling_governor", "powersave", cpu+"scaling_driver", "intel_pstate", cpu+"energy_performance_preference", "balance_performance"), laptop.Facts{}},
		{"energy preference", files(cpu+"scaling_governor", "powersave", cpu+"scaling_driver", "amd-pstate-epp", cpu+"energy_performance_preference", "power"), laptop.Facts{Saving: "the processor's energy preference is power"}},
		{"performance", files(cpu+"scaling_governor", "performance"), laptop.Facts{}},
		{"profile", files("sys/firmware/acpi/platform_profile", "low-power"), laptop.Facts{Saving: "the platform profile is low-power"}},
		{"Wi-Fi", files("sys/class/net/wlan0/phy80211/name", "phy0", "sys/class/net/eth0/address", "x"), laptop.Facts{WiFi: []string{"wlan0"}}},
		{"memory", files("proc/meminfo", "MemTotal: 8000000 kB\nMemAvailable:   204800 kB"), laptop.Facts{FreeMB: 200}},
		{"load", files("proc/loadavg", "6.00 1.00 0.50 1/234 5678"), laptop.Facts{Load: 3}},
		{"WSL2", files("proc/sys/kernel/osrelease", "5.15.90.1-microsoft-standard-WSL2"), laptop.Facts{WSL: true}},
		{"another kernel", files("proc/sys/kernel/osrelease", "6.12.0-amd64"), laptop.Facts{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.want.Looked = true
			assert.Empty(t, cmp.Diff(c.want, laptop.Look(c.root, 2, []string{"eth0", "wlan0", "wlan0"})))
		})
	}
}
