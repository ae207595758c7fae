# Makes tables of the lines of .ci/bench: run, name, threads, metric, value. Each number is the median of the runs, behind it
# the least and the greatest.

{
	value[$1, $2, $3, $4] = $5
	if ($1 > runs) runs = $1
	if (!($2 in seen)) { seen[$2] = 1; names[++count] = $2 }
}

# middle puts the runs' numbers in order: median, least, greatest in m, low, high; 0 when there is none.
function middle(list, n,    i, j, t) {
	for (i = 2; i <= n; i++)
		for (j = i; j > 1 && list[j - 1] > list[j]; j--) { t = list[j]; list[j] = list[j - 1]; list[j - 1] = t }
	if (n == 0) return 0
	m = n % 2 ? list[(n + 1) / 2] : (list[n / 2] + list[n / 2 + 1]) / 2
	low = list[1]; high = list[n]
	return 1
}

function number(x) { return x >= 99.5 ? sprintf("%.0f", x) : x >= 9.95 ? sprintf("%.1f", x) : sprintf("%.2f", x) }

function spread() { return number(m) " (" number(low) "–" number(high) ")" }

function of(name, threads, metric,    list, n, r) {
	for (r = 1; r <= runs; r++) if ((r, name, threads, metric) in value) list[++n] = value[r, name, threads, metric]
	return middle(list, n + 0) ? spread() : "-"
}

# ratio prints the ratio of two numbers of each run.
function ratio(words, a, at, am, b, bt, bm,    list, n, r) {
	for (r = 1; r <= runs; r++)
		if (((r, a, at, am) in value) && ((r, b, bt, bm) in value) && value[r, b, bt, bm] > 0)
			list[++n] = value[r, a, at, am] / value[r, b, bt, bm]
	if (middle(list, n + 0)) printf "| %s | %s |\n", words, spread()
}

END {
	print "| what | processor ms, 1 thread | clock ms, 1 thread | clock ms, 2 threads | MB allocated |"
	print "|---|---:|---:|---:|---:|"
	for (i = 1; i <= count; i++)
		if (names[i] !~ /query/)
			printf "| %s | %s | %s | %s | %s |\n", names[i], of(names[i], 1, "cpu-ms"), of(names[i], 1, "ms"),
				of(names[i], 2, "ms"), of(names[i], 1, "MB")
	print "\n| 20,000 points | million/s of processor time | million/s, 1 thread | million/s, 2 threads | kB allocated |"
	print "|---|---:|---:|---:|---:|"
	for (i = 1; i <= count; i++)
		if (names[i] ~ /query/)
			printf "| %s | %s | %s | %s | %s |\n", names[i], of(names[i], 1, "cpu-Mq/s"), of(names[i], 1, "Mq/s"),
				of(names[i], 2, "Mq/s"), of(names[i], 1, "kB")

	print "\n| ratio, processor time of 1 thread where nothing else is said | median (least–greatest) |"
	print "|---|---:|"
	c = "cpu-ms"; q = "cpu-Mq/s"
	ratio("load 500k: CGAL / ours", "CGAL-load/500k", 1, c, "load/500k", 1, c)
	ratio("repair 500k, nothing to mend: CGAL / ours", "CGAL-repair/500k", 1, c, "repair/clean/500k", 1, c)
	ratio("repair 500k: damaged / nothing to mend", "repair/damaged/500k", 1, c, "repair/clean/500k", 1, c)
	ratio("repair 500k, nothing to mend / load 500k", "repair/clean/500k", 1, c, "load/500k", 1, c)
	split("20k 100k 500k", sizes, " ")
	for (i = 1; i <= 3; i++) {
		s = sizes[i]
		ratio("tree " s ": CGAL / ours", "CGAL-tree/" s, 1, c, "tree/" s, 1, c)
		ratio("exact signed distance " s ", no hint: ours / CGAL", "query/cold/" s, 1, q, "CGAL-query/" s, 1, q)
		ratio("exact signed distance " s ", no hint: ours / Embree with pseudonormals", "query/cold/" s, 1, q, "Embree-query/" s, 1, q)
		ratio("exact signed distance " s ", hint of the last pose: ours / Embree", "query/same/" s, 1, q, "Embree-query/" s, 1, q)
		ratio("exact signed distance " s ", no hint, plain: ours / CGAL", "query/plain/" s, 1, q, "CGAL-query/" s, 1, q)
		ratio("boxes of the tree " s ": CGAL / ours", "CGAL-tree/" s, 1, c, "boxes/" s, 1, c)
		ratio("boxes of the tree " s ", two threads: ours / Embree, by the clock", "boxes/" s, 2, "ms", "Embree-tree/" s, 2, "ms")
		ratio("tree with all for the sign " s ", two threads: ours / Embree without, by the clock", "tree/" s, 2, "ms", "Embree-tree/" s, 2, "ms")
		ratio("exact " s ": hint of the point before / no hint", "query/last/" s, 1, q, "query/cold/" s, 1, q)
		ratio("exact " s ": hint of the last pose / no hint", "query/same/" s, 1, q, "query/cold/" s, 1, q)
		ratio("sampled / exact without hint, " s, "query/sampled/" s, 1, q, "query/cold/" s, 1, q)
		ratio("field / tree, time to build, " s, "field/" s, 1, c, "tree/" s, 1, c)
		ratio("two threads / one, exact " s ", by the clock", "query/cold/" s, 2, "Mq/s", "query/cold/" s, 1, "Mq/s")
		ratio("two threads / one, sampled " s ", by the clock", "query/sampled/" s, 2, "Mq/s", "query/sampled/" s, 1, "Mq/s")
		ratio("one thread / two, field " s ", by the clock", "field/" s, 1, "ms", "field/" s, 2, "ms")
	}

	# Both engines must have measured the same thing.
	bad = 0
	for (i = 1; i <= 3; i++) {
		s = sizes[i]; k = runs SUBSEP "CGAL-query/" s SUBSEP 1 SUBSEP "mean-mm"
		if (!(k in value)) continue
		d = value[k] - value[runs, "query/cold/" s, 1, "mean-mm"]
		if (d < 0) d = -d
		if (d > 5e-4) { printf "mean distances of %s differ by %g mm\n", s, d; bad = 1 } # Go prints four digits
	}
	exit bad
}
