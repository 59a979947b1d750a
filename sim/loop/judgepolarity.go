package loop

// judgePolarity looks at the leads of the devices.
func (c *condition) judgePolarity() (all []Verdict) {
	for i := range c.Devices {
		if d := &c.Devices[i]; d.Reversed {
			v := words("polarity", d.Name, Broken, d.Name+" is dark: its leads are swapped, it draws nothing")
			v.Mend = c.mend(func(*condition) bool { return true }, c.swapped(i))
			all = append(all, v)
		}
	}
	if all == nil && len(c.Devices) > 0 {
		all = append(all, words("polarity", "", Holds, "no device has its leads swapped"))
	}
	return all
}

// swapped swaps the leads of a device. What it then takes away from the devices the
// supply must give.
func (c *condition) swapped(i int) way {
	return way{1, func(c *condition, _ int) string {
		c.Devices[i].Reversed = false
		return "the two leads of " + c.Devices[i].Name + " swapped" + c.feed()
	}}
}
