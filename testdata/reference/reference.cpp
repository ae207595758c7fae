// Measures shapes with CGAL (5.5.1 when the kept tables were made) and writes the tables that internal/mesh is held to:
//
//   reference SHAPES_DIR TABLES_DIR
//
// writes measures.json (versions; counts, volume, area and plane sections of each shape) and, for each shape, NAME.csv:
// points with their distance from the surface, the side they are on and the winding number about them.
//
//   volume    exact in rational numbers, then rounded (Polygon_mesh_processing on an exact kernel)
//   area      Polygon_mesh_processing in double
//   section   Polygon_mesh_slicer; loops are added or taken away by how many others lie round them
//   distance  AABB_tree in double, checked here against each triangle in long double
//   side      Side_of_triangle_mesh with exact predicates: 1 inside, -1 outside, 0 not defined
//   winding   the sum over all triangles in long double, written here
//
// A shape that is open is kept together with the faces that close it, which follow the open part in the file. Distances
// and winding are those of the open part; its side is that of the closed shape, and not defined where the way to the
// nearest point meets a closing face or ends on the open part's border.
#include <CGAL/AABB_face_graph_triangle_primitive.h>
#include <CGAL/AABB_halfedge_graph_segment_primitive.h>
#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_2.h>
#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Polygon_mesh_processing/self_intersections.h>
#include <CGAL/Polygon_mesh_slicer.h>
#include <CGAL/Side_of_triangle_mesh.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/version.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <string>
#include <vector>

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Point = Kernel::Point_3;
using Vector = Kernel::Vector_3;
using Surface = CGAL::Surface_mesh<Point>;
using Tree = CGAL::AABB_tree<CGAL::AABB_traits<Kernel, CGAL::AABB_face_graph_triangle_primitive<Surface>>>;
using Face = std::array<int, 3>;

struct Shape {
  std::vector<Point> v;
  std::vector<Face> f;
};

// Corners are merged where they are equal, in order of their first appearance.
static Shape load(const std::string &path) {
  FILE *file = fopen(path.c_str(), "rb");
  if (!file) { perror(path.c_str()); exit(1); }
  unsigned char head[84];
  uint32_t n = 0;
  if (fread(head, 1, 84, file) != 84) { fprintf(stderr, "%s: short\n", path.c_str()); exit(1); }
  memcpy(&n, head + 80, 4);
  Shape s;
  std::map<std::array<float, 3>, int> at;
  for (uint32_t i = 0; i < n; i++) {
    unsigned char rec[50];
    if (fread(rec, 1, 50, file) != 50) { fprintf(stderr, "%s: short\n", path.c_str()); exit(1); }
    Face t;
    for (int k = 0; k < 3; k++) {
      std::array<float, 3> p;
      memcpy(p.data(), rec + 12 + 12 * k, 12);
      auto [place, fresh] = at.try_emplace(p, int(s.v.size()));
      if (fresh) s.v.emplace_back(p[0], p[1], p[2]);
      t[k] = place->second;
    }
    s.f.push_back(t);
  }
  fclose(file);
  return s;
}

template <class K>
static CGAL::Surface_mesh<typename K::Point_3> surface(const Shape &s, size_t from, size_t to) {
  CGAL::Surface_mesh<typename K::Point_3> m;
  std::vector<typename CGAL::Surface_mesh<typename K::Point_3>::Vertex_index> id;
  for (auto &p : s.v) id.push_back(m.add_vertex(typename K::Point_3(p.x(), p.y(), p.z())));
  for (size_t i = from; i < to; i++)
    if (!m.is_valid(m.add_face(id[s.f[i][0]], id[s.f[i][1]], id[s.f[i][2]]))) {
      fprintf(stderr, "triangle %zu does not fit its neighbours\n", i);
      exit(1);
    }
  return m;
}

struct Dice {
  uint64_t i;
  double operator()() {  // 0 to 1, the mixer of shapes.py
    uint64_t z = ++i * 0x9E3779B97F4A7C15ull;
    z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9ull;
    z = (z ^ z >> 27) * 0x94D049BB133111EBull;
    return double((z ^ z >> 31) >> 11) * 0x1p-53;
  }
  double within(double r) { return r * (2 * (*this)() - 1); }
  size_t below(size_t n) { return size_t((*this)() * double(n)); }
  Vector around(double r) { double x = within(r), y = within(r), z = within(r); return Vector(x, y, z); }
};

static Vector unit(Vector v) { return v / std::sqrt(v.squared_length()); }
static Vector normal(const Shape &s, const Face &t) {
  Vector n = CGAL::cross_product(s.v[t[1]] - s.v[t[0]], s.v[t[2]] - s.v[t[0]]);
  return n.squared_length() > 0 ? unit(n) : n;
}

using Long = std::array<long double, 3>;
static Long from(Point a, Point b) {
  return {(long double)b.x() - a.x(), (long double)b.y() - a.y(), (long double)b.z() - a.z()};
}
static long double dot(const Long &a, const Long &b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }
static Long cross(const Long &a, const Long &b) {
  return {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
}

// Van Oosterom & Strackee 1983: tan of half the solid angle.
static double winding(const Shape &s, size_t faces, Point p) {
  long double sum = 0;
  for (size_t i = 0; i < faces; i++) {
    Long a = from(p, s.v[s.f[i][0]]), b = from(p, s.v[s.f[i][1]]), c = from(p, s.v[s.f[i][2]]);
    long double la = std::sqrt(dot(a, a)), lb = std::sqrt(dot(b, b)), lc = std::sqrt(dot(c, c));
    sum += std::atan2(dot(a, cross(b, c)), la * lb * lc + dot(a, b) * lc + dot(b, c) * la + dot(c, a) * lb);
  }
  return double(sum / (2 * 3.14159265358979323846264338327950288L));
}

// The least distance to any triangle: inside of it by its plane, else by its sides.
static double bruteDistance(const Shape &s, size_t faces, Point p) {
  long double best = INFINITY;
  for (size_t i = 0; i < faces; i++) {
    const Face &t = s.f[i];
    Long n = cross(from(s.v[t[0]], s.v[t[1]]), from(s.v[t[0]], s.v[t[2]]));
    long double area = dot(n, n);
    bool over = area > 0;
    for (int k = 0; k < 3; k++) {
      Long side = from(s.v[t[k]], s.v[t[(k + 1) % 3]]), d = from(s.v[t[k]], p);
      long double u = dot(side, side) > 0 ? dot(d, side) / dot(side, side) : 0;
      u = std::min(1.0L, std::max(0.0L, u));
      for (int j = 0; j < 3; j++) d[j] -= u * side[j];
      best = std::min(best, dot(d, d));
      over = over && dot(cross(n, side), from(s.v[t[k]], p)) >= 0;
    }
    if (over) {
      long double h = dot(n, from(s.v[t[0]], p));
      best = std::min(best, h * h / area);
    }
  }
  return double(std::sqrt(best));
}

struct Query {
  const char *kind;
  Point p;
};

// Places that try a distance: near and far, at sharp edges and their corners, within thin tips, on both sides of the
// surface at a hair's breadth.
static std::vector<Query> places(const Shape &s, size_t faces) {
  Dice dice{1ull << 20};
  std::vector<Query> q;
  Point lo = s.v[0], hi = s.v[0];
  for (auto &p : s.v) {
    lo = Point(std::min(lo.x(), p.x()), std::min(lo.y(), p.y()), std::min(lo.z(), p.z()));
    hi = Point(std::max(hi.x(), p.x()), std::max(hi.y(), p.y()), std::max(hi.z(), p.z()));
  }
  auto inBox = [&](double grow) {
    double a = dice.within(grow), b = dice.within(grow), c = dice.within(grow);
    Vector half = (hi - lo) / 2;
    return lo + half + Vector(a * half.x(), b * half.y(), c * half.z());
  };
  auto onFace = [&](size_t i) {
    double a = std::sqrt(dice()), b = dice();
    auto &t = s.f[i];
    return s.v[t[0]] + (1 - b) * a * (s.v[t[1]] - s.v[t[0]]) + b * a * (s.v[t[2]] - s.v[t[0]]);
  };
  for (int i = 0; i < 60; i++) q.push_back({"box", inBox(1)});
  for (int i = 0; i < 40; i++) q.push_back({"far", inBox(4)});
  for (int i = 0; i < 80; i++) {
    size_t f = dice.below(faces);
    Point p = onFace(f);
    q.push_back({"near", p + dice.within(2) * normal(s, s.f[f])});
  }
  for (int i = 0; i < 40; i++) {
    size_t f = dice.below(faces);
    Point p = onFace(f);
    double h = std::pow(10, -2 - 3 * dice());
    q.push_back({"hair", p + (i % 2 ? h : -h) * normal(s, s.f[f])});
  }
  // Sharp edges: more than 30 degrees from one face to the next. Tips: more than 120.
  std::map<std::pair<int, int>, std::vector<size_t>> on;
  for (size_t i = 0; i < faces; i++)
    for (int k = 0; k < 3; k++) on[std::minmax(s.f[i][k], s.f[i][(k + 1) % 3])].push_back(i);
  struct Edge { Point a, b; Vector out; };
  std::vector<Edge> sharp, tips, borders;
  for (auto &[e, f] : on) {
    Edge edge{s.v[e.first], s.v[e.second], normal(s, s.f[f[0]])};
    if (f.size() == 1) { borders.push_back(edge); continue; }
    Vector m = normal(s, s.f[f[1]]);
    double c = edge.out * m;
    edge.out = edge.out + m;
    if (c < std::cos(M_PI / 6)) sharp.push_back(edge);
    // Ridges only: the far corner of the one face lies under the other.
    Point far = CGAL::centroid(s.v[s.f[f[1]][0]], s.v[s.f[f[1]][1]], s.v[s.f[f[1]][2]]);
    if (c < -0.5 && (far - edge.a) * normal(s, s.f[f[0]]) < 0 && edge.out.squared_length() > 0) tips.push_back(edge);
  }
  // Spikes: all the edges at a vertex run the same way, nearly.
  std::vector<Vector> runs(s.v.size(), Vector(0, 0, 0));
  std::vector<int> count(s.v.size());
  for (auto &[e, f] : on) {
    Vector d = unit(s.v[e.second] - s.v[e.first]);
    runs[e.first] = runs[e.first] + d;
    runs[e.second] = runs[e.second] - d;
    count[e.first]++, count[e.second]++;
  }
  for (size_t i = 0; i < s.v.size(); i++)
    if (count[i] && std::sqrt(runs[i].squared_length()) > 0.9 * count[i]) tips.push_back({s.v[i], s.v[i], -runs[i]});
  for (int i = 0; i < 60 && !sharp.empty(); i++) {
    auto &e = sharp[dice.below(sharp.size())];
    q.push_back({"edge", e.a + dice() * (e.b - e.a) + dice.around(1)});
  }
  for (int i = 0; i < 40 && !sharp.empty(); i++) q.push_back({"corner", sharp[dice.below(sharp.size())].a + dice.around(1)});
  for (int i = 0; i < 60 && !tips.empty(); i++) {  // from just within the tip inwards, and as far in front of it
    auto &e = tips[dice.below(tips.size())];
    double depth = std::pow(10, -2 + 2.5 * dice());
    q.push_back({"tip", e.a + dice() * (e.b - e.a) + (i % 4 ? -depth : depth) * unit(e.out)});
  }
  for (int i = 0; i < 60 && !borders.empty(); i++) {
    auto &e = borders[dice.below(borders.size())];
    q.push_back({"border", e.a + dice() * (e.b - e.a) + dice.around(2)});
  }
  return q;
}

// The sign that angle-weighted normals give (Baerentzen & Aanaes 2005), wrong where a surface crosses itself.
struct Pseudonormals {
  const Shape &s;
  std::vector<Vector> face, vertex;
  std::map<std::pair<int, int>, Vector> edge;
  explicit Pseudonormals(const Shape &shape) : s(shape), vertex(shape.v.size(), Vector(0, 0, 0)) {
    for (auto &t : s.f) {
      face.push_back(normal(s, t));
      for (int k = 0; k < 3; k++) {
        Vector u = s.v[t[(k + 1) % 3]] - s.v[t[k]], w = s.v[t[(k + 2) % 3]] - s.v[t[k]];
        double angle = std::atan2(std::sqrt(CGAL::cross_product(u, w).squared_length()), u * w);
        vertex[t[k]] = vertex[t[k]] + angle * face.back();
        auto &n = edge.try_emplace(std::minmax(t[k], t[(k + 1) % 3]), 0, 0, 0).first->second;
        n = n + face.back();
      }
    }
  }
  bool inside(Point p, Point nearest, size_t f) const {
    auto &t = s.f[f];
    Vector n = face[f];
    double least = 1e-9;
    for (int k = 0; k < 3; k++) {  // on a side or a corner of the face, the corner first
      if (CGAL::squared_distance(nearest, s.v[t[k]]) < 1e-18) { n = vertex[t[k]]; least = -1; }
      double d = std::sqrt(CGAL::squared_distance(nearest, Kernel::Line_3(s.v[t[k]], s.v[t[(k + 1) % 3]])));
      if (d < least) { n = edge.at(std::minmax(t[k], t[(k + 1) % 3])); least = d; }
    }
    return (p - nearest) * n < 0;
  }
};

struct Plane { Point p; Vector n; };

static void section(const Surface &m, const CGAL::Polygon_mesh_slicer<Surface, Kernel> &slicer, Plane plane, double &area,
                    double &length, size_t &loops) {
  std::vector<std::vector<Point>> lines;
  slicer(Kernel::Plane_3(plane.p, plane.n), std::back_inserter(lines));
  Vector z = unit(plane.n), x = unit(CGAL::cross_product(std::abs(z.x()) < 0.8 ? Vector(1, 0, 0) : Vector(0, 1, 0), z));
  Vector y = CGAL::cross_product(z, x);
  std::vector<CGAL::Polygon_2<Kernel>> polygons;
  area = length = 0;
  for (auto &line : lines) {
    for (size_t i = 1; i < line.size(); i++) length += std::sqrt(CGAL::squared_distance(line[i - 1], line[i]));
    if (line.front() != line.back() || line.size() < 4) { area = NAN; continue; }
    CGAL::Polygon_2<Kernel> g;
    for (size_t i = 1; i < line.size(); i++) g.push_back(Kernel::Point_2((line[i] - plane.p) * x, (line[i] - plane.p) * y));
    if (!g.is_simple()) { area = NAN; return; }
    polygons.push_back(g);
  }
  loops = lines.size();
  for (size_t i = 0; i < polygons.size(); i++) {
    int round = 0;
    for (size_t j = 0; j < polygons.size(); j++)
      round += i != j && polygons[j].bounded_side(polygons[i][0]) == CGAL::ON_BOUNDED_SIDE;
    area += (round % 2 ? -1 : 1) * std::abs(polygons[i].area());
  }
}

static void measure(const std::string &name, size_t open, const std::string &shapes, const std::string &tables, FILE *json) {
  Shape s = load(shapes + "/" + name + ".stl");
  size_t faces = open ? open : s.f.size();
  Surface whole = surface<Kernel>(s, 0, s.f.size()), part = surface<Kernel>(s, 0, faces), lid = surface<Kernel>(s, faces, s.f.size());
  bool crosses = CGAL::Polygon_mesh_processing::does_self_intersect(whole);
  auto rational = surface<CGAL::Exact_predicates_exact_constructions_kernel>(s, 0, s.f.size());
  double volume = CGAL::to_double(CGAL::Polygon_mesh_processing::volume(rational));
  double area = CGAL::to_double(CGAL::Polygon_mesh_processing::area(part));
  fprintf(json, "    {\n      \"shape\": \"%s\", \"triangles\": %zu, \"open_triangles\": %zu, \"vertices\": %zu,\n", name.c_str(),
          s.f.size(), open, s.v.size());
  fprintf(json, "      \"closed_volume_mm3\": %.17g, \"area_mm2\": %.17g, \"crosses_itself\": %s,\n      \"sections\": [", volume,
          area, crosses ? "true" : "false");

  Dice dice{1ull << 30};
  CGAL::Bbox_3 box = CGAL::Polygon_mesh_processing::bbox(whole);
  CGAL::Polygon_mesh_slicer<Surface, Kernel> slicer(part);
  int written = 0;
  for (int i = 0; i < 40 && written < 10; i++) {
    Vector half(box.xmax() - box.xmin(), box.ymax() - box.ymin(), box.zmax() - box.zmin());
    double a = 0.1 + 0.8 * dice(), b = 0.1 + 0.8 * dice(), c = 0.1 + 0.8 * dice();
    Plane plane{Point(box.xmin() + a * half.x(), box.ymin() + b * half.y(), box.zmin() + c * half.z()),
                i % 2 ? unit(dice.around(1)) : Vector(i % 3 == 0, i % 3 == 1, i % 3 == 2)};
    double cut = 0, length = 0;
    size_t loops = 0;
    section(part, slicer, plane, cut, length, loops);
    if (length == 0) continue;
    fprintf(json, "%s\n        {\"point\": [%.17g, %.17g, %.17g], \"normal\": [%.17g, %.17g, %.17g], \"length_mm\": %.17g",
            written++ ? "," : "", plane.p.x(), plane.p.y(), plane.p.z(), plane.n.x(), plane.n.y(), plane.n.z(), length);
    if (std::isfinite(cut)) fprintf(json, ", \"area_mm2\": %.17g, \"loops\": %zu", cut, loops);
    fprintf(json, "}");
  }
  fprintf(json, "\n      ],\n");

  Tree tree(CGAL::faces(part).first, CGAL::faces(part).second, part);
  tree.accelerate_distance_queries();
  Tree closing(CGAL::faces(lid).first, CGAL::faces(lid).second, lid);
  CGAL::Side_of_triangle_mesh<Surface, Kernel> side(whole);
  std::vector<Kernel::Segment_3> border;
  if (open)
    for (auto h : part.halfedges())
      if (part.is_border(h)) border.emplace_back(part.point(part.source(h)), part.point(part.target(h)));
  auto sideOf = [&](Point p, Point nearest) {
    if (open && closing.do_intersect(Kernel::Segment_3(p, nearest))) return 0;
    for (auto &b : border)
      if (CGAL::squared_distance(nearest, b) < 1e-14) return 0;
    auto bounded = side(p);
    return bounded == CGAL::ON_BOUNDED_SIDE ? 1 : bounded == CGAL::ON_BOUNDARY ? 0 : -1;
  };

  auto queries = places(s, faces);
  size_t tried = 0, wrong = 0;
  if (crosses && !open) {  // where the normals alone mislead
    Pseudonormals normals(s);
    Dice more{1ull << 40};
    for (; tried < 60000; tried++) {
      auto along = [&](double lo, double hi) { return lo + (1.5 * more() - 0.25) * (hi - lo); };
      double x = along(box.xmin(), box.xmax()), y = along(box.ymin(), box.ymax()), z = along(box.zmin(), box.zmax());
      Point p(x, y, z);
      auto [nearest, f] = tree.closest_point_and_primitive(p);
      if (normals.inside(p, nearest, f) != (sideOf(p, nearest) == 1)) {
        wrong++;
        if (wrong <= 60) queries.push_back({"misled", p});
      }
    }
  }
  FILE *csv = fopen((tables + "/" + name + ".csv").c_str(), "w");
  if (!csv) { perror(tables.c_str()); exit(1); }
  fprintf(csv, "kind,x_mm,y_mm,z_mm,distance_mm,side,winding\n");
  double worst = 0;
  size_t disagree = 0;
  for (auto &[kind, p] : queries) {
    Point nearest = tree.closest_point(p);
    double d = std::sqrt(CGAL::squared_distance(p, nearest)), w = winding(s, faces, p);
    int which = sideOf(p, nearest);
    worst = std::max(worst, std::abs(d - bruteDistance(s, faces, p)));
    disagree += !open && which != 0 && (which > 0) != (w > 0.5);
    fprintf(csv, "%s,%.17g,%.17g,%.17g,%.17g,%d,%.17g\n", kind, p.x(), p.y(), p.z(), d, which, w);
  }
  fclose(csv);
  fprintf(json, "      \"points\": %zu, \"worst_against_brute_force_mm\": %.3g, \"side_against_winding\": %zu,\n", queries.size(),
          worst, disagree);
  fprintf(json, "      \"random_points\": %zu, \"misled_by_normals\": %zu\n    }", tried, wrong);
  printf("%-11s %5zu triangles, %zu points, CGAL against brute force %.2g mm, side against winding %zu, misled by normals %zu of %zu\n",
         name.c_str(), s.f.size(), queries.size(), worst, disagree, wrong, tried);
}

int main(int argc, char **argv) {
  if (argc != 3) { fprintf(stderr, "reference SHAPES_DIR TABLES_DIR\n"); return 2; }
  std::string shapes = argv[1], tables = argv[2];
  FILE *json = fopen((tables + "/measures.json").c_str(), "w");
  if (!json) { perror(tables.c_str()); return 1; }
  fprintf(json, "{\n  \"made_with\": \"CGAL %s, GMP %d.%d.%d, g++ %s\",\n  \"shapes\": [\n", CGAL_VERSION_STR, __GNU_MP_VERSION,
          __GNU_MP_VERSION_MINOR, __GNU_MP_VERSION_PATCHLEVEL, __VERSION__);
  // How many faces of an open shape are its own; 0 for a closed one.
  const std::pair<const char *, size_t> all[] = {{"block", 0},      {"sphere", 0},   {"cone", 0}, {"loft", 0},       {"noisy-loft", 0},
                                                 {"blade", 0}, {"trough", 2400}, {"room", 15260}, {"device", 0}};
  for (size_t i = 0; i < std::size(all); i++) {
    if (i) fprintf(json, ",\n");
    measure(all[i].first, all[i].second, shapes, tables, json);
  }
  fprintf(json, "\n  ]\n}\n");
  return fclose(json);
}
