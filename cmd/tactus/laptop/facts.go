package laptop

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
)

// Facts describes a computer. The zero value has no fault.
type Facts struct {
	System   string   `json:"system"`             // as Go names it: linux, darwin, windows
	Looked   bool     `json:"looked"`             // false: this system was only measured
	Battery  bool     `json:"on_battery"`         // running on battery
	Saving   string   `json:"power_saving"`       // the setting that slows the processor, or ""
	WiFi     []string `json:"wifi"`               // wireless interfaces that send light
	FreeMB   int      `json:"free_memory_mb"`     // for programs; 0 when not known
	Load     float64  `json:"load"`               // load average of the last minute for each processor
	WSL      bool     `json:"wsl"`                // Linux inside Windows
	RealTime string   `json:"real_time"`          // what the system granted the loop
	Remedy   string   `json:"remedy,omitempty"`   // how to get what it refused
	Refused  bool     `json:"real_time_refused"`  // the system refused a part
	AsAsked  bool     `json:"real_time_declined"` // none was requested
}

// Look reads the facts from the files of a Linux system below root. processors is
// the number of processors, interfaces are those that send light.
func Look(root fs.FS, processors int, interfaces []string) Facts {
	f := Facts{Looked: true}
	f.Battery = onBattery(root)
	f.Saving = powerSaving(root)
	for _, name := range interfaces {
		if wireless(root, name) && !slices.Contains(f.WiFi, name) {
			f.WiFi = append(f.WiFi, name)
		}
	}
	f.FreeMB = freeMB(root)
	if word, _, _ := strings.Cut(text(root, "proc/loadavg"), " "); word != "" {
		load, _ := strconv.ParseFloat(word, 64)
		f.Load = load / float64(max(processors, 1))
	}
	f.WSL = strings.Contains(strings.ToLower(text(root, "proc/sys/kernel/osrelease")), "microsoft")
	return f
}

// text returns the content of a file without its line end; "" when it cannot be
// read.
func text(root fs.FS, name string) string {
	src, err := fs.ReadFile(root, name)
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(src))
}

// onBattery reports whether a battery of the computer (not of a mouse, for example)
// discharges and no mains supply is present.
func onBattery(root fs.FS) bool {
	const folder = "sys/class/power_supply"
	supplies, _ := fs.ReadDir(root, folder)
	drained := false
	for _, s := range supplies {
		at := path.Join(folder, s.Name())
		switch text(root, at+"/type") {
		case "Mains", "USB":
			if text(root, at+"/online") == "1" {
				return false
			}
		case "Battery":
			own := text(root, at+"/scope") != "Device"
			drained = drained || own && text(root, at+"/status") == "Discharging"
		}
	}
	return drained
}

// powerSaving returns the setting that keeps the processor slow, or "". Drivers that
// choose the frequency themselves call their ordinary governor "powersave".
func powerSaving(root fs.FS) string {
	if text(root, "sys/firmware/acpi/platform_profile") == "low-power" {
		return "the platform profile is low-power"
	}
	governors, _ := fs.Glob(root, "sys/devices/system/cpu/cpu*/cpufreq/scaling_governor")
	for _, g := range governors {
		folder := path.Dir(g)
		driver := text(root, folder+"/scaling_driver")
		if driver == "intel_pstate" || strings.HasPrefix(driver, "amd-pstate-epp") {
			if text(root, folder+"/energy_performance_preference") == "power" {
				return "the processor's energy preference is power"
			}
			continue
		}
		if text(root, g) == "powersave" {
			return "the processor's governor is powersave"
		}
	}
	return ""
}

func wireless(root fs.FS, name string) bool {
	for _, mark := range []string{"wireless", "phy80211"} {
		if _, err := fs.Stat(root, path.Join("sys/class/net", name, mark)); err == nil {
			return true
		}
	}
	return false
}

// freeMB returns MemAvailable of /proc/meminfo in MB.
func freeMB(root fs.FS) int {
	for l := range strings.Lines(text(root, "proc/meminfo")) {
		var kb int
		if n, _ := fmt.Sscanf(l, "MemAvailable: %d kB", &kb); n == 1 {
			return max(kb/1024, 1)
		}
	}
	return 0
}
