// The measurements of `make bench` with Embree: bench_embree DIR RUN, on the meshes and points that the Go benchmarks left in DIR.
// Prints one number a line: run, name, threads, metric, value. The distance is that of Embree's point query with a plain triangle test
// (Ericson, Real-Time Collision Detection, 2005, 5.1.5), the sign that of the angle-weighted pseudonormal.
#include <embree3/rtcore.h>

#include <array>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <functional>
#include <map>
#include <string>
#include <vector>

struct V {
  float x, y, z;
  V operator-(V o) const { return {x - o.x, y - o.y, z - o.z}; }
  V operator+(V o) const { return {x + o.x, y + o.y, z + o.z}; }
  V operator*(float k) const { return {x * k, y * k, z * k}; }
};
static float dot(V a, V b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
static V cross(V a, V b) { return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x}; }

struct Mesh {
  std::vector<V> v;
  std::vector<std::array<uint32_t, 3>> f;
  std::vector<V> face, corner;                // normals
  std::vector<std::array<V, 3>> side;         // from corner k to the next
};

static Mesh load(const std::string &name) {
  FILE *f = fopen(name.c_str(), "rb");
  if (!f) { perror(name.c_str()); exit(1); }
  fseek(f, 80, SEEK_SET);
  uint32_t n;
  if (fread(&n, 4, 1, f) != 1) exit(1);
  Mesh m;
  std::map<std::array<float, 3>, uint32_t> seen;
  for (uint32_t i = 0; i < n; i++) {
    char buffer[50];
    if (fread(buffer, 50, 1, f) != 1) exit(1);
    std::array<uint32_t, 3> t;
    for (int k = 0; k < 3; k++) {
      std::array<float, 3> p;
      memcpy(p.data(), buffer + 12 + 12 * k, 12);
      auto [at, fresh] = seen.try_emplace(p, m.v.size());
      if (fresh) m.v.push_back({p[0], p[1], p[2]});
      t[k] = at->second;
    }
    m.f.push_back(t);
  }
  fclose(f);
  m.face.resize(n), m.side.resize(n), m.corner.resize(m.v.size());
  std::map<std::pair<uint32_t, uint32_t>, V> sides;
  for (uint32_t i = 0; i < n; i++) {
    auto t = m.f[i];
    V c = cross(m.v[t[1]] - m.v[t[0]], m.v[t[2]] - m.v[t[0]]);
    m.face[i] = c * (1 / std::sqrt(dot(c, c)));
    for (int k = 0; k < 3; k++) {
      uint32_t a = t[k], b = t[(k + 1) % 3];
      V u = m.v[b] - m.v[a], w = m.v[t[(k + 2) % 3]] - m.v[a];
      float angle = std::acos(dot(u, w) / std::sqrt(dot(u, u) * dot(w, w)));
      m.corner[a] = m.corner[a] + m.face[i] * angle;
      V &s = sides[{std::min(a, b), std::max(a, b)}];
      s = s + m.face[i];
    }
  }
  for (uint32_t i = 0; i < n; i++)
    for (int k = 0; k < 3; k++) {
      uint32_t a = m.f[i][k], b = m.f[i][(k + 1) % 3];
      m.side[i][k] = sides[{std::min(a, b), std::max(a, b)}];
    }
  return m;
}

// closest point of a triangle; part is 6 inside, 0 to 2 a corner, 3 to 5 a side.
static V closest(V p, V a, V b, V c, int &part) {
  V ab = b - a, ac = c - a, ap = p - a;
  float d1 = dot(ab, ap), d2 = dot(ac, ap);
  if (d1 <= 0 && d2 <= 0) return part = 0, a;
  V bp = p - b;
  float d3 = dot(ab, bp), d4 = dot(ac, bp);
  if (d3 >= 0 && d4 <= d3) return part = 1, b;
  float vc = d1 * d4 - d3 * d2;
  if (vc <= 0 && d1 >= 0 && d3 <= 0) return part = 3, a + ab * (d1 / (d1 - d3));
  V cp = p - c;
  float d5 = dot(ab, cp), d6 = dot(ac, cp);
  if (d6 >= 0 && d5 <= d6) return part = 2, c;
  float vb = d5 * d2 - d1 * d6;
  if (vb <= 0 && d2 >= 0 && d6 <= 0) return part = 5, a + ac * (d2 / (d2 - d6));
  float va = d3 * d6 - d5 * d4;
  if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) return part = 4, b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
  float k = 1 / (va + vb + vc);
  return part = 6, a + ab * (vb * k) + ac * (vc * k);
}

struct Best {
  const Mesh *m;
  V p, q;
  float d2;
  uint32_t tri;
  int part;
};

static bool visit(RTCPointQueryFunctionArguments *a) {
  Best &b = *static_cast<Best *>(a->userPtr);
  auto &t = b.m->f[a->primID];
  int part;
  V q = closest(b.p, b.m->v[t[0]], b.m->v[t[1]], b.m->v[t[2]], part), d = b.p - q;
  float d2 = dot(d, d);
  if (d2 >= b.d2) return false;
  b.d2 = d2, b.tri = a->primID, b.q = q, b.part = part;
  a->query->radius = std::sqrt(d2);
  return true;
}

static double clock_of(clockid_t c) {
  timespec t;
  clock_gettime(c, &t);
  return t.tv_sec + 1e-9 * t.tv_nsec;
}

int main(int argc, char **argv) {
  if (argc != 3) return fprintf(stderr, "bench_embree DIR RUN\n"), 2;
  std::string dir = argv[1], run = argv[2];
  std::vector<V> places;
  FILE *f = fopen((dir + "/points.f64").c_str(), "rb");
  if (!f) { perror("points.f64"); return 1; }
  for (double p[3]; fread(p, sizeof p, 1, f) == 1;) places.push_back({float(p[0]), float(p[1]), float(p[2])});
  fclose(f);
  auto print = [&](const std::string &name, int threads, const char *metric, double value) {
    printf("%s %s %d %s %.9g\n", run.c_str(), name.c_str(), threads, metric, value);
  };
  for (std::string size : {"20k", "100k", "500k"}) {
    Mesh m = load(dir + "/loft-" + size + ".stl");
    RTCScene scene = nullptr;
    for (int threads : {2, 1}) {
      RTCDevice device = rtcNewDevice(("threads=" + std::to_string(threads)).c_str());
      auto build = [&] {
        scene = rtcNewScene(device);
        RTCGeometry g = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
        memcpy(rtcSetNewGeometryBuffer(g, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 12, m.v.size()), m.v.data(), 12 * m.v.size());
        memcpy(rtcSetNewGeometryBuffer(g, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, 12, m.f.size()), m.f.data(), 12 * m.f.size());
        rtcCommitGeometry(g);
        rtcAttachGeometry(scene, g);
        rtcReleaseGeometry(g);
        rtcCommitScene(scene);
      };
      build();  // so that its threads are there
      double wall = clock_of(CLOCK_MONOTONIC), cpu = clock_of(CLOCK_PROCESS_CPUTIME_ID);
      for (int i = 0; i < 3; i++) rtcReleaseScene(scene), build();
      print("Embree-tree/" + size, threads, "ms", 1e3 * (clock_of(CLOCK_MONOTONIC) - wall) / 3);
      print("Embree-tree/" + size, threads, "cpu-ms", 1e3 * (clock_of(CLOCK_PROCESS_CPUTIME_ID) - cpu) / 3);
    }
    double sum = 0;
    auto all = [&] {
      sum = 0;
      for (V p : places) {
        Best b{&m, p, {}, INFINITY, 0, 6};
        RTCPointQuery q{p.x, p.y, p.z, 0, INFINITY};
        RTCPointQueryContext context;
        rtcInitPointQueryContext(&context);
        rtcPointQuery(scene, &q, &context, visit, &b);
        V n = b.part == 6 ? m.face[b.tri] : b.part < 3 ? m.corner[m.f[b.tri][b.part]] : m.side[b.tri][b.part - 3];
        sum += std::copysign(std::sqrt(b.d2), -dot(p - b.q, n));  // above 0 inside
      }
    };
    all();
    double wall = clock_of(CLOCK_MONOTONIC), cpu = clock_of(CLOCK_THREAD_CPUTIME_ID);
    for (int i = 0; i < 5; i++) all();
    wall = (clock_of(CLOCK_MONOTONIC) - wall) / 5, cpu = (clock_of(CLOCK_THREAD_CPUTIME_ID) - cpu) / 5;
    print("Embree-query/" + size, 1, "cpu-Mq/s", places.size() / cpu / 1e6);
    print("Embree-query/" + size, 1, "Mq/s", places.size() / wall / 1e6);
    print("Embree-query/" + size, 1, "mean-mm", sum / places.size());
  }
}
