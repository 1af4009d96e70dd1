package network

// minimumDegree returns an order of elimination that keeps the factors sparse:
// always take next the vertex with the fewest neighbours left. A radial network
// is eaten from its ends and gains nothing.
//
// Vertices with late set are taken a little later than their neighbours. Loads
// are late: a change of load then touches only the end of the order.
//
// neighbours lists each vertex's neighbours, repeats allowed; it is used up.
func minimumDegree(neighbours [][]int32, late []bool) []int32 {
	const patience = 4
	n := len(neighbours)
	degree := make([]int32, n)
	taken := make([]bool, n)
	mark := make([]int32, n)
	stamp := int32(0)
	buckets := [][]int32{nil}
	lowest := 0
	key := func(v int32) int {
		if late[v] {
			return int(degree[v]) + patience
		}
		return int(degree[v])
	}
	put := func(v int32) {
		k := key(v)
		for len(buckets) <= k {
			buckets = append(buckets, nil)
		}
		buckets[k] = append(buckets[k], v)
		lowest = min(lowest, k)
	}
	// tidy drops repeats and what was taken from v's neighbours and marks the rest.
	tidy := func(v int32) {
		stamp++
		mark[v] = stamp
		own := neighbours[v][:0]
		for _, u := range neighbours[v] {
			if mark[u] != stamp && !taken[u] {
				mark[u] = stamp
				own = append(own, u)
			}
		}
		neighbours[v] = own
		degree[v] = int32(len(own))
	}
	for v := range int32(n) {
		tidy(v)
		put(v)
	}
	order := make([]int32, 0, n)
	for len(order) < n {
		for len(buckets[lowest]) == 0 {
			lowest++
		}
		b := buckets[lowest]
		v := b[len(b)-1]
		buckets[lowest] = b[:len(b)-1]
		if taken[v] || key(v) != lowest {
			continue // it stands in another bucket too, with the degree it has now
		}
		tidy(v)
		taken[v] = true
		order = append(order, v)
		around := neighbours[v]
		if len(around) == 1 { // an end: nothing to link, and a busbar need not be searched
			degree[around[0]]--
			put(around[0])
			continue
		}
		for _, u := range around {
			tidy(u)
			for _, w := range around {
				if mark[w] != stamp {
					neighbours[u] = append(neighbours[u], w)
				}
			}
			degree[u] = int32(len(neighbours[u]))
			put(u)
		}
		neighbours[v] = nil
	}
	return order
}
