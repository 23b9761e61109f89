package shows

// Group is a named set of fixtures.
type Group struct {
	Name  string
	Heads []int32
}

// namedGroups lists the rig's groups in file order.
func (c *compiler) namedGroups() (list []Group) {
	for _, e := range c.rig.Get("groups").All() {
		list = append(list, Group{e.Key.Text, c.heads.heads[e.Key.Text]})
	}
	return list
}

// GroupsOf names the groups that hold a head of a placement.
func (s *Show) GroupsOf(placement int) (names []string) {
	for _, g := range s.Groups {
		for _, h := range g.Heads {
			if s.Program.Heads[h].Fixture == int32(placement) {
				names = append(names, g.Name)
				break
			}
		}
	}
	return names
}
