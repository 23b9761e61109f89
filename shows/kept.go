package shows

// KeptGroup is an item under "keep" in the rig file: a group, a fixture or a range.
// Songs leave its heads as they are unless a cue names them.
type KeptGroup struct {
	Name    string // as written
	Heads   []int32
	Written string // file and line
}

// keptGroups lists what the rig keeps, in file order.
func (c *compiler) keptGroups() (list []KeptGroup) {
	for _, item := range c.rig.Get("keep").Items() {
		list = append(list, KeptGroup{item.Word(), c.heads.find(item), item.Where()})
	}
	return list
}
