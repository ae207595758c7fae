// The measurements of `make bench` with CGAL: bench DIR RUN, on the meshes and points that the Go benchmarks left in DIR.
// Prints one number a line: run, name, threads, metric, value. Processor time is that of the whole process, as there.
#include <CGAL/AABB_face_graph_triangle_primitive.h>
#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/IO/STL.h>
#include <CGAL/Polygon_mesh_processing/orient_polygon_soup.h>
#include <CGAL/Polygon_mesh_processing/polygon_soup_to_polygon_mesh.h>
#include <CGAL/Polygon_mesh_processing/repair_polygon_soup.h>
#include <CGAL/Side_of_triangle_mesh.h>
#include <CGAL/Simple_cartesian.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/version.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <functional>
#include <string>
#include <thread>
#include <vector>

using Kernel = CGAL::Simple_cartesian<double>;
using Point = Kernel::Point_3;
using Surface = CGAL::Surface_mesh<Point>;
using Primitive = CGAL::AABB_face_graph_triangle_primitive<Surface, CGAL::Default, CGAL::Tag_true, CGAL::Tag_true>;
using Tree = CGAL::AABB_tree<CGAL::AABB_traits<Kernel, Primitive>>;
namespace PMP = CGAL::Polygon_mesh_processing;

static std::string run;
static void print(const std::string &name, int threads, const char *metric, double value) {
  printf("%s %s %d %s %.9g\n", run.c_str(), name.c_str(), threads, metric, value);
}

static void measure(const std::string &name, int threads, int times, size_t queries, const std::function<void()> &work) {
  auto clock = [] { return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count(); };
  auto processor = [] {
    timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return t.tv_sec + 1e-9 * t.tv_nsec;
  };
  double wall = clock(), cpu = processor();
  for (int i = 0; i < times; i++) work();
  cpu = (processor() - cpu) / times, wall = (clock() - wall) / times;
  print(name, threads, "ms", 1e3 * wall);
  print(name, threads, "cpu-ms", 1e3 * cpu);
  if (queries) print(name, threads, "cpu-Mq/s", queries / cpu / 1e6), print(name, threads, "Mq/s", queries / wall / 1e6);
}

int main(int argc, char **argv) {
  if (argc != 3) { fprintf(stderr, "bench DIR RUN | bench version -\n"); return 2; }
  std::string dir = argv[1];
  if (dir == "version") { printf("CGAL %s, g++ %s\n", CGAL_VERSION_STR, __VERSION__); return 0; }
  run = argv[2];
  std::vector<Point> places;
  FILE *f = fopen((dir + "/points.f64").c_str(), "rb");
  if (!f) { perror("points.f64"); return 1; }
  for (double p[3]; fread(p, sizeof p, 1, f) == 1;) places.emplace_back(p[0], p[1], p[2]);
  fclose(f);

  for (std::string size : {"20k", "100k", "500k"}) {
    std::vector<Point> points;
    std::vector<std::vector<size_t>> faces;
    std::string file = dir + "/loft-" + size + ".stl";
    auto read = [&] {
      points.clear(), faces.clear();
      if (!CGAL::IO::read_STL(file, points, faces)) { fprintf(stderr, "%s: not read\n", file.c_str()); exit(1); }
      PMP::merge_duplicate_points_in_polygon_soup(points, faces);
    };
    Surface m;
    auto repair = [&] {
      auto p = points;
      auto t = faces;
      m.clear();
      PMP::repair_polygon_soup(p, t);
      PMP::orient_polygon_soup(p, t);
      PMP::polygon_soup_to_polygon_mesh(p, t, m);
    };
    if (size == "500k") {
      measure("CGAL-load/" + size, 1, 1, 0, read);
      measure("CGAL-repair/" + size, 1, 1, 0, repair);
    } else {
      read(), repair();
    }
    Tree tree;
    measure("CGAL-tree/" + size, 1, 3, 0, [&] {
      tree.clear();
      tree.insert(CGAL::faces(m).first, CGAL::faces(m).second, m);
      tree.build();
      tree.accelerate_distance_queries();
    });
    CGAL::Side_of_triangle_mesh<Surface, Kernel> side(m);
    std::vector<double> d(places.size());
    auto all = [&](size_t from, size_t to) {
      for (size_t i = from; i < to; i++) {
        double u = std::sqrt(tree.squared_distance(places[i]));
        d[i] = side(places[i]) == CGAL::ON_BOUNDED_SIDE ? u : -u;
      }
    };
    all(0, places.size());  // so that what is built at the first query is there
    for (int threads : {1, 2}) {
      measure("CGAL-query/" + size, threads, 5, places.size(), [&] {
        std::vector<std::thread> more;
        for (int k = 1; k < threads; k++) more.emplace_back(all, places.size() * k / threads, places.size() * (k + 1) / threads);
        all(0, places.size() / threads);
        for (auto &t : more) t.join();
      });
    }
    double sum = 0;
    for (double x : d) sum += x;
    print("CGAL-query/" + size, 1, "mean-mm", sum / d.size());
  }
}
