package main

import (
	"fmt"
	"slices"
)

// exportStop is the global through which the host ends a module that runs for
// too long.
const exportStop = "stop"

// stops has every loop look at a global of its own at each turn, and trap once it
// is not 0. The engine has a way of its own to end at a deadline, which calls out
// of the module at each turn and doubles the time; a load and a branch that is
// never taken cost a few percent. What does not loop ends by itself: recursion
// runs out of stack. It returns how many loops there are.
//
//	loop        becomes  loop; global.get stop; if; unreachable; end
//
// An empty loop has no parameters that the look could stand above, as blocks of
// the older exception proposal's time can: the values on the stack stay where
// they are.
func stops(m *module) (int, error) {
	g := m.addGlobal(i32)
	if err := m.export(exportStop, g); err != nil {
		return 0, err
	}
	look := appendU32([]byte{opGlobalGet}, g)
	look = append(look, opIf, emptyBlock, opUnreachable, opEnd)
	total := 0
	for i, body := range m.bodies {
		c := &cursor{b: body}
		c.localGroups()
		var out []byte
		done := 0 // body[:done] is in out
		for c.more() {
			in := m.next(c)
			if c.err != nil {
				return 0, fmt.Errorf("function %d: %w", m.imported+i, c.err)
			}
			if in.op != opLoop {
				continue
			}
			out = append(append(out, body[done:c.at]...), look...)
			done = c.at
			total++
		}
		if done > 0 {
			m.bodies[i] = slices.Concat(out, body[done:])
		}
	}
	return total, nil
}
