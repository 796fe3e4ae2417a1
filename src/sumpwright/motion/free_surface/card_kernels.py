"""The card's loops over parcels, faces and cells, in CUDA C; ``engine_gpu.py`` compiles and calls them.

Each is the loop of the same name in the ``cpu_`` files. ``NX NY NZ`` and the shared constants are set
in front of the text. Cells, and faces across x, have the strides (NY*NZ, NZ, 1); blockIdx.y
chooses the axis where all three face arrays are treated alike.
"""

from __future__ import annotations

SOURCE = r"""
#define SX (NY * NZ)
#define SY NZ
typedef float *const *Three;
typedef signed char *const *Bytes;
typedef const unsigned char *const *Shut;

__device__ __forceinline__ int stride_x(int axis)
{
    return axis == 1 ? (NY + 1) * NZ : axis == 2 ? NY * (NZ + 1) : NY * NZ;
}
__device__ __forceinline__ int stride_y(int axis) { return axis == 2 ? NZ + 1 : NZ; }
__device__ __forceinline__ int face(int axis, int i, int j, int k)
{
    return i * stride_x(axis) + j * stride_y(axis) + k;
}
__device__ __forceinline__ int faces_of(int axis)
{
    return axis == 0 ? (NX + 1) * NY * NZ : axis == 1 ? NX * (NY + 1) * NZ : NX * NY * (NZ + 1);
}

struct Place { int c[3]; float f[3]; int h[3]; float p[3]; };

__device__ __forceinline__ void place(Place &at, const float *x, const Shut &shut, int has_shut)
{
    for (int a = 0; a < 3; a++) { at.c[a] = (int)x[a]; at.f[a] = x[a] - at.c[a]; }
    for (int a = 0; a < 3; a++) {
        float f = at.f[a] - 0.5f;
        bool under = f < 0.0f;
        at.h[a] = under ? at.c[a] - 1 : at.c[a];
        at.p[a] = under ? f + 1.0f : f;
        if (has_shut) {
            int here = face(a, at.c[0], at.c[1], at.c[2]);
            int step = a == 0 ? stride_x(0) : a == 1 ? stride_y(1) : 1;
            if (under && shut[a][here]) at.p[a] = 1.0f;
            if (!under && shut[a][here + step]) at.p[a] = 0.0f;
        }
    }
}

__device__ __forceinline__ float sample(const float *q, int b, int sx, int sy, float x, float y, float z,
    float *g)
{
    float q000 = q[b], q001 = q[b + 1], q010 = q[b + sy], q011 = q[b + sy + 1];
    float q100 = q[b + sx], q101 = q[b + sx + 1], q110 = q[b + sx + sy], q111 = q[b + sx + sy + 1];
    float d00 = q001 - q000, d01 = q011 - q010, d10 = q101 - q100, d11 = q111 - q110;
    float e00 = q000 + z * d00, e01 = q010 + z * d01, e10 = q100 + z * d10, e11 = q110 + z * d11;
    float g0 = e01 - e00, g1 = e11 - e10, f0 = e00 + y * g0, f1 = e10 + y * g1;
    float h0 = d00 + y * (d01 - d00), h1 = d10 + y * (d11 - d10);
    g[0] = f1 - f0; g[1] = g0 + x * (g1 - g0); g[2] = h0 + x * (h1 - h0);
    return f0 + x * g[0];
}

__device__ __forceinline__ float on_face(const Three &field, const Place &at, int axis, float *g)
{
    int b[3]; float w[3];
    for (int a = 0; a < 3; a++) {
        b[a] = a == axis ? at.c[a] : at.h[a];
        w[a] = a == axis ? at.f[a] : at.p[a];
    }
    return sample(field[axis], face(axis, b[0], b[1], b[2]), stride_x(axis), stride_y(axis), w[0], w[1],
                  w[2], g);
}

__device__ __forceinline__ float kept(float x, int axis)
{
    float last = (axis == 0 ? NX : axis == 1 ? NY : NZ) - 2.001f;
    if (!(x > 2.001f)) return 2.001f;
    return x < last ? x : last;
}

__device__ __forceinline__ float stopped(const float *x, float move, const Shut &shut, int axis)
{
    float target = x[axis] + move;
    int c[3] = {(int)x[0], (int)x[1], (int)x[2]};
    int up = move > 0.0f;
    for (int guard = 0; guard < 8 && (int)target != c[axis]; guard++) {
        int spot[3] = {c[0], c[1], c[2]};
        spot[axis] += up;
        if (shut[axis][face(axis, spot[0], spot[1], spot[2])])
            return up ? spot[axis] - 1e-3f : c[axis] + 1e-3f;
        c[axis] += up ? 1 : -1;
    }
    return target;
}

__device__ __forceinline__ void inside(float *x, const float *distance)
{
    for (int n = 0; n < 2; n++) {
        int c[3] = {(int)x[0], (int)x[1], (int)x[2]};
        float g[3];
        float here = sample(distance, (c[0] * (NY + 1) + c[1]) * (NZ + 1) + c[2], (NY + 1) * (NZ + 1), NZ + 1,
                            x[0] - c[0], x[1] - c[1], x[2] - c[2], g);
        float lacks = OFF_WALL - here;
        if (lacks <= 0.0f) return;
        float size = g[0] * g[0] + g[1] * g[1] + g[2] * g[2];
        if (size < 1e-12f) return;
        float scale = lacks / fmaxf(size, 0.25f);
        for (int a = 0; a < 3; a++) x[a] = kept(x[a] + scale * g[a], a);
    }
}

__device__ __forceinline__ void walk(float *x, float *move, const float *distance, const Shut &shut,
    int has_shut)
{
    for (int a = 0; a < 3; a++) move[a] = fminf(fmaxf(move[a], -LARGEST_MOVE), LARGEST_MOVE);
    if (!has_shut) {
        for (int a = 0; a < 3; a++) x[a] = kept(x[a] + move[a], a);
        inside(x, distance);
        return;
    }
    for (int a = 0; a < 3; a++) x[a] = kept(stopped(x, move[a], shut, a), a);
    float good[3] = {x[0], x[1], x[2]};
    inside(good, distance);
    for (int a = 0; a < 3; a++) x[a] = kept(stopped(x, good[a] - x[a], shut, a), a);
}

// Mass and momentum in one transaction, where the card can.
__device__ __forceinline__ void add_two(float *to, float mass, float momentum)
{
#if __CUDA_ARCH__ >= 900
    asm volatile("red.global.add.v2.f32 [%0], {%1, %2};" : : "l"(to), "f"(mass), "f"(momentum) : "memory");
#else
    atomicAdd(to, mass);
    atomicAdd(to + 1, momentum);
#endif
}

// Grid velocities to parcels, parcels along them and along the density push, their bulk to the cells,
// their mass and momentum to the faces. gain (3): to every parcel [cells/s]; spin (6 x 3): by its place,
// then by its velocity, in a turning pan; null where the pan does not turn.
extern "C" __global__ void carry(float *parcels, int n, Three field, Three push, float dt,
    const float *distance, Shut shut, int has_shut, float gain_x, float gain_y, float gain_z,
    const float *spin, Three sums, float *share, int *number, const signed char *kind, int *lost)
{
    int p = blockIdx.x * blockDim.x + threadIdx.x;
    if (p >= n) return;
    size_t m = n;
    float x[3] = {parcels[p], parcels[m + p], parcels[2 * m + p]};
    Place at;
    place(at, x, shut, has_shut);
    float v[3], g[3][3], s[3], unused[3];
    for (int a = 0; a < 3; a++) {
        v[a] = on_face(field, at, a, g[a]);
        for (int b = 0; b < 3; b++)
            if (has_shut && b != a && (at.p[b] == 0.0f || at.p[b] == 1.0f)) g[a][b] = 0.0f;
        s[a] = on_face(push, at, a, unused);
    }
    // The velocity is that where the push sets the parcel down.
    for (int a = 0; a < 3; a++) v[a] += g[a][0] * s[0] + g[a][1] * s[1] + g[a][2] * s[2];
    float move[3];
    for (int a = 0; a < 3; a++)
        move[a] = s[a] + dt * (v[a] + 0.5f * dt * (g[a][0] * v[0] + g[a][1] * v[1] + g[a][2] * v[2]));
    float wanted[3];
    for (int a = 0; a < 3; a++) {
        move[a] = fminf(fmaxf(move[a], -LARGEST_MOVE), LARGEST_MOVE);
        wanted[a] = x[a] + move[a];
    }
    walk(x, move, distance, shut, has_shut);
    // What a wall has stopped outside the oil loses its speed into the wall.
    float back[3], into = 0.0f, size = 0.0f;
    for (int a = 0; a < 3; a++) {
        back[a] = x[a] - wanted[a];
        into += back[a] * v[a];
        size += back[a] * back[a];
    }
    if (into < 0.0f && kind[(int)x[0] * SX + (int)x[1] * SY + (int)x[2]] != LIQUID)
        for (int a = 0; a < 3; a++) v[a] -= into / size * back[a];
    for (int a = 0; a < 3; a++) { parcels[a * m + p] = x[a]; parcels[(3 + a) * m + p] = v[a]; }
    if (!isfinite(v[0] + v[1] + v[2])) *lost = 1;
    place(at, x, shut, has_shut);
    int b = at.h[0] * SX + at.h[1] * SY + at.h[2];
    float x1 = at.p[0], y1 = at.p[1], z1 = at.p[2], x0 = 1.0f - x1, y0 = 1.0f - y1, z0 = 1.0f - z1;
    atomicAdd(share + b, x0 * y0 * z0); atomicAdd(share + b + 1, x0 * y0 * z1);
    atomicAdd(share + b + SY, x0 * y1 * z0); atomicAdd(share + b + SY + 1, x0 * y1 * z1);
    atomicAdd(share + b + SX, x1 * y0 * z0); atomicAdd(share + b + SX + 1, x1 * y0 * z1);
    atomicAdd(share + b + SX + SY, x1 * y1 * z0); atomicAdd(share + b + SX + SY + 1, x1 * y1 * z1);
    atomicAdd(number + at.c[0] * SX + at.c[1] * SY + at.c[2], 1);
    if (spin) {
        float old[3] = {v[0], v[1], v[2]};
        for (int a = 0; a < 3; a++)
            for (int c = 0; c < 3; c++) {
                v[a] += spin[3 * a + c] * x[c] + spin[3 * (3 + a) + c] * old[c];
                g[a][c] += spin[3 * a + c];
            }
    }
    v[0] += gain_x; v[1] += gain_y; v[2] += gain_z;
    for (int a = 0; a < 3; a++) {
        float value = v[a];
        int base[3]; float w[3];
        for (int c = 0; c < 3; c++) {
            base[c] = c == a ? at.c[c] : at.h[c];
            w[c] = c == a ? at.f[c] : at.p[c];
            value -= g[a][c] * (c == a ? at.f[c] : x[c] - at.h[c] - 0.5f);
        }
        float *sum = sums[a] + 2 * (size_t)face(a, base[0], base[1], base[2]);
        int sx = 2 * stride_x(a), sy = 2 * stride_y(a);
        for (int q = 0; q < 8; q++) {
            int i = q >> 2 & 1, j = q >> 1 & 1, k = q & 1;
            float mass = (i ? w[0] : 1.0f - w[0]) * (j ? w[1] : 1.0f - w[1]) * (k ? w[2] : 1.0f - w[2]);
            float *to = sum + i * sx + j * sy + 2 * k;
            add_two(to, mass, mass * (value + i * g[a][0] + j * g[a][1] + k * g[a][2]));
        }
    }
}

extern "C" __global__ void average(Three sums, Three out, Bytes mark, Three opened)
{
    int a = blockIdx.y, c = blockIdx.x * blockDim.x + threadIdx.x;
    if (c >= faces_of(a)) return;
    float2 *sum = (float2 *)sums[a];
    float2 s = sum[c];
    sum[c] = make_float2(0.0f, 0.0f);
    bool met = s.x > 1e-6f, is_open = opened[a][c] > 0.0f;
    out[a][c] = met && is_open ? s.y / s.x : 0.0f;
    mark[a][c] = met ? (is_open ? 1 : -1) : 0;
}

extern "C" __global__ void classify(float *share, int *number, const float *full, float per_cell,
    const float *volume, signed char *kind, float *rho)
{
    int c = blockIdx.x * blockDim.x + threadIdx.x;
    if (c >= NX * NY * NZ) return;
    float room = volume[c], r = full[c] > 1e-6f ? share[c] / full[c] : 0.0f;
    int held = number[c];
    share[c] = 0.0f;
    number[c] = 0;
    if (room <= 0.0f) { kind[c] = WALL; rho[c] = 0.0f; return; }
    bool crowded = held >= FILLED * per_cell * room && held >= 3;
    kind[c] = r > LIQUID_SHARE || crowded ? LIQUID : AIR;
    rho[c] = r;
}

extern "C" __global__ void judge(const signed char *own, const float *own_rho, const int *by,
    signed char *kind, float *rho, float *links, float *u, float *x, int *cells, int *count)
{
    int c = blockIdx.x * blockDim.x + threadIdx.x;
    if (c >= NX * NY * NZ) return;
    int from = by[c];
    kind[c] = own[from];
    rho[c] = own_rho[from];
    links[c] = links[NX * NY * NZ + c] = links[2 * NX * NY * NZ + c] = 0.0f;
    u[c] = x[c] = 0.0f;
    if (kind[c] == LIQUID) cells[atomicAdd(count, 1)] = c;
}

__device__ __forceinline__ float phi(float r)
{
    return r < 0.5f ? 1.0f - sqrtf(2.0f * fmaxf(r, 0.0f)) : sqrtf(2.0f * (1.0f - fminf(r, 1.0f))) - 1.0f;
}
__device__ __forceinline__ float theta(float in, float out)
{
    float a = fminf(phi(in), -1e-3f), b = fmaxf(phi(out), 1e-3f);
    return fmaxf(a / (a - b), LEAST_THETA);
}
__device__ __forceinline__ void spot(int c, int *at) { at[0] = c / SX; at[1] = c % SX / SY; at[2] = c % SY; }

extern "C" __global__ void build(const int *cells, const int *count, const signed char *kind,
    const float *rho, Three opened, const float *volume, float *diagonal, float *links, float *b)
{
    int row = blockIdx.x * blockDim.x + threadIdx.x;
    if (row >= *count) return;
    int c = cells[row], at[3];
    spot(c, at);
    const int step[3] = {SX, SY, 1};
    float here = rho[c], total = 0.0f;
    bool at_air = false;
    for (int a = 0; a < 3; a++)
        for (int side = 0; side < 2; side++) {
            int to = side ? c + step[a] : c - step[a];
            at_air |= kind[to] == AIR;
            int f = face(a, at[0] + (a == 0) * side, at[1] + (a == 1) * side, at[2] + (a == 2) * side);
            float part = opened[a][f];
            if (part <= 0.0f) continue;
            if (kind[to] == LIQUID) { total += part; if (side) links[a * NX * NY * NZ + c] = part; }
            else if (kind[to] == AIR) total += part / theta(here, rho[to]);
        }
    diagonal[c] = total > 1e-12f ? total : 1.0f;
    float excess = fminf(fmaxf(here - 1.0f, -0.5f), 0.5f);
    b[c] = (at_air ? fmaxf(excess, 0.0f) : excess) * volume[c];
}

extern "C" __global__ void divergence(const int *cells, const int *count, Three field, Three opened,
    const float *pressure, float dt, float *b, float *x)
{
    int row = blockIdx.x * blockDim.x + threadIdx.x;
    if (row >= *count) return;
    int c = cells[row], at[3];
    spot(c, at);
    float out = 0.0f;
    for (int a = 0; a < 3; a++) {
        int low = face(a, at[0], at[1], at[2]);
        int high = low + (a == 0 ? stride_x(0) : a == 1 ? stride_y(1) : 1);
        out += opened[a][high] * field[a][high] - opened[a][low] * field[a][low];
    }
    b[c] = -out;
    x[c] = pressure[c] * dt;
}

// A gate that all blocks pass together: the launch is cooperative, so all of them are there.
__device__ void gate(unsigned *tickets, unsigned &turn)
{
    __syncthreads();
    if (threadIdx.x == 0) {
        turn += gridDim.x;
        __threadfence();
        atomicAdd(tickets, 1u);
        while (*(volatile unsigned *)tickets < turn) { }
        __threadfence();
    }
    __syncthreads();
}

__device__ void total(double value, double *into)
{
    __shared__ double part[32];
    for (int o = 16; o; o >>= 1) value += __shfl_down_sync(0xffffffffu, value, o);
    __syncthreads();
    if ((threadIdx.x & 31) == 0) part[threadIdx.x >> 5] = value;
    __syncthreads();
    if (threadIdx.x < 32) {
        value = threadIdx.x < blockDim.x >> 5 ? part[threadIdx.x] : 0.0;
        for (int o = 16; o; o >>= 1) value += __shfl_down_sync(0xffffffffu, value, o);
        if (threadIdx.x == 0) atomicAdd(into, value);
    }
}

__device__ __forceinline__ float row_of(const float *v, int c, const float *diagonal, const float *links)
{
    const int n = NX * NY * NZ;
    return diagonal[c] * __ldcg(v + c)
        - links[c] * __ldcg(v + c + SX) - links[c - SX] * __ldcg(v + c - SX)
        - links[n + c] * __ldcg(v + c + SY) - links[n + c - SY] * __ldcg(v + c - SY)
        - links[2 * n + c] * __ldcg(v + c + 1) - links[2 * n + c - 1] * __ldcg(v + c - 1);
}

// Conjugate gradients over the diagonal, the whole solve in one launch. Both products of an iteration
// are taken at once (Chronopoulos and Gear's order), so that the blocks wait for each other twice, not
// three times. u: rest over diagonal, w: its row; sums (3 * most + 6) start at 0.
extern "C" __global__ void __launch_bounds__(1024) solve(const int *cells, const int *count,
    const float *diagonal, const float *links, const float *b, float *x, float *r, float *s, float *q,
    float *u, float *w, double *sums, unsigned *tickets, double tolerance, int most, int *iterations)
{
    unsigned turn = 0;
    int n = *count, first = blockIdx.x * blockDim.x + threadIdx.x, jump = gridDim.x * blockDim.x;
    double *rr = sums, *ru = sums + most + 2, *wu = sums + 2 * most + 4;
    double bb = 0.0;
    for (int row = first; row < n; row += jump) {
        int c = cells[row];
        float rest = b[c] - row_of(x, c, diagonal, links);
        r[c] = rest;
        u[c] = rest / diagonal[c];
        bb += (double)b[c] * b[c];
    }
    total(bb, wu + most + 1);
    gate(tickets, turn);
    double target = tolerance * tolerance * __ldcg(wu + most + 1);
    double before = 1.0;
    float alpha = 0.0f;
    int it = 0;
    for (; it <= most; it++) {
        double one = 0.0, two = 0.0, three = 0.0;
        for (int row = first; row < n; row += jump) {
            int c = cells[row];
            float rest = r[c], over = __ldcg(u + c), value = row_of(u, c, diagonal, links);
            w[c] = value;
            one += (double)rest * rest;
            two += (double)rest * over;
            three += (double)value * over;
        }
        total(one, rr + it);
        total(two, ru + it);
        total(three, wu + it);
        gate(tickets, turn);
        double now = __ldcg(ru + it);
        if (it == most || __ldcg(rr + it) <= target || now == 0.0) break;
        float beta = it ? (float)(now / before) : 0.0f;
        double under = __ldcg(wu + it) - (it ? (double)beta * now / alpha : 0.0);
        if (under == 0.0) break;
        alpha = (float)(now / under);
        before = now;
        for (int row = first; row < n; row += jump) {
            int c = cells[row];
            float along = __ldcg(u + c) + (it ? beta * s[c] : 0.0f), step = w[c] + (it ? beta * q[c] : 0.0f);
            s[c] = along;
            q[c] = step;
            x[c] += alpha * along;
            float rest = r[c] - alpha * step;
            r[c] = rest;
            u[c] = rest / diagonal[c];
        }
        gate(tickets, turn);
    }
    if (first == 0) *iterations = it;
}

extern "C" __global__ void gradient(const signed char *kind, const float *rho, const float *x, Three opened,
    Three field, Bytes mark, float limit)
{
    int a = blockIdx.y, f = blockIdx.x * blockDim.x + threadIdx.x;
    if (f >= faces_of(a)) return;
    int sx = stride_x(a), sy = stride_y(a), at[3] = {f / sx, f % sx / sy, f % sy};
    if (limit > 0.0f) field[a][f] = 0.0f;
    const int most[3] = {NX, NY, NZ}, step[3] = {SX, SY, 1};
    if (at[a] == 0 || at[a] == most[a] || opened[a][f] <= 0.0f) return;
    int high = at[0] * SX + at[1] * SY + at[2], low = high - step[a];
    int kl = kind[low], kh = kind[high];
    float change;
    if (kl == LIQUID && kh == LIQUID) change = x[high] - x[low];
    else if (kl == LIQUID && kh == AIR) change = -x[low] / theta(rho[low], rho[high]);
    else if (kl == AIR && kh == LIQUID) change = x[high] / theta(rho[high], rho[low]);
    else return;
    if (limit > 0.0f) change = fminf(fmaxf(change, -limit), limit);
    else mark[a][f] = 2;
    field[a][f] -= change;
}

extern "C" __global__ void keep_pressure(const signed char *kind, const float *x, float dt, float *pressure)
{
    int c = blockIdx.x * blockDim.x + threadIdx.x;
    if (c < NX * NY * NZ) pressure[c] = kind[c] == LIQUID ? x[c] / dt : 0.0f;
}

__device__ __forceinline__ bool is_inner(int a, int f)
{
    int sx = stride_x(a), sy = stride_y(a), i = f / sx, j = f % sx / sy, k = f % sy;
    return i > 0 && j > 0 && k > 0 && i < NX - (a != 0) && j < NY - (a != 1) && k < NZ - (a != 2);
}

extern "C" __global__ void wet_faces(const signed char *kind, Three opened, Three field, Three old, Bytes wet)
{
    int a = blockIdx.y, f = blockIdx.x * blockDim.x + threadIdx.x;
    if (f >= faces_of(a)) return;
    old[a][f] = field[a][f];
    bool is_wet = false;
    if (is_inner(a, f) && opened[a][f] > 0.0f) {
        int sx = stride_x(a), sy = stride_y(a);
        int high = f / sx * SX + f % sx / sy * SY + f % sy;
        is_wet = kind[high] == LIQUID || kind[high - (a == 0 ? SX : a == 1 ? SY : 1)] == LIQUID;
    }
    wet[a][f] = is_wet;
}

extern "C" __global__ void diffuse(Three field, Three old, Bytes wet, Three friction, float alpha, float drag,
    float relax, int colour)
{
    int a = blockIdx.y, f = blockIdx.x * blockDim.x + threadIdx.x;
    if (f >= faces_of(a) || !wet[a][f]) return;
    int sx = stride_x(a), sy = stride_y(a);
    if ((f / sx + f % sx / sy + f % sy) % 2 != colour) return;
    const int step[6] = {sx, -sx, sy, -sy, 1, -1};
    float total = 0.0f, number = 0.0f;
    for (int n = 0; n < 6; n++)
        if (wet[a][f + step[n]]) { total += field[a][f + step[n]]; number += 1.0f; }
    float now = field[a][f];
    float next = (old[a][f] + alpha * total) / (1.0f + alpha * number + drag * friction[a][f]);
    field[a][f] = now + relax * (next - now);
}

// In place: only faces marked 1 change, and those are read by none.
extern "C" __global__ void spread(Three field, Bytes mark, int best)
{
    int a = blockIdx.y, f = blockIdx.x * blockDim.x + threadIdx.x;
    if (f >= faces_of(a) || mark[a][f] != 1 || !is_inner(a, f)) return;
    int sx = stride_x(a), sy = stride_y(a);
    const int step[6] = {sx, -sx, sy, -sy, 1, -1};
    float total = 0.0f;
    int number = 0;
    for (int n = 0; n < 6; n++) {
        int m = mark[a][f + step[n]];
        if (m >= 2 && m <= best) { total += field[a][f + step[n]]; number++; }
    }
    if (number) { field[a][f] = total / number; mark[a][f] = best + 1; }
}

extern "C" __global__ void carry_to_wall(const int *const *lists, const int *counts, Three field,
    Bytes marks, int turn)
{
    int a = blockIdx.y, w = blockIdx.x * blockDim.x + threadIdx.x;
    if (w >= counts[a]) return;
    const int *faces = lists[a];
    float *value = field[a];
    signed char *mark = marks[a];
    int sx = stride_x(a), sy = stride_y(a), f = face(a, faces[3 * w], faces[3 * w + 1], faces[3 * w + 2]);
    if (mark[f] != -1) return;
    const int step[6] = {sx, -sx, sy, -sy, 1, -1};
    float total = 0.0f;
    int number = 0;
    for (int q = 0; q < 6; q++) {
        int m = mark[f + step[q]];
        if (m > 0 && m < 6 + turn) { total += value[f + step[q]]; number++; }
    }
    if (number) { value[f] = total / number; mark[f] = 6 + turn; }
}

extern "C" __global__ void turn_along_walls(const int *const *lists, const int *counts,
    Three all_normals, Three all_beyond, Three field, Bytes mark, Three turned)
{
    int a = blockIdx.y, w = blockIdx.x * blockDim.x + threadIdx.x;
    if (w >= counts[a]) return;
    const int *faces = lists[a];
    const float *normals = all_normals[a], *beyond = all_beyond[a];
    float *out = turned[a];
    int at[3] = {faces[3 * w], faces[3 * w + 1], faces[3 * w + 2]}, f = face(a, at[0], at[1], at[2]);
    if (mark[a][f] <= 0) { out[w] = 0.0f; return; }
    float own = field[a][f], across = normals[3 * w + a] * own;
    for (int o = 0; o < 3; o++) {
        if (o == a) continue;
        float total = 0.0f;
        int number = 0;
        for (int back = 0; back < 2; back++)
            for (int up = 0; up < 2; up++) {
                int s[3] = {at[0], at[1], at[2]};
                s[a] -= back;
                s[o] += up;
                int g = face(o, s[0], s[1], s[2]);
                if (mark[o][g] > 0) { total += field[o][g]; number++; }
            }
        if (number) across += normals[3 * w + o] * total / number;
    }
    out[w] = own - (1.0f - beyond[w]) * normals[3 * w + a] * across;
}

extern "C" __global__ void write_faces(const int *const *lists, const int *counts, Three turned, Three field)
{
    int a = blockIdx.y, w = blockIdx.x * blockDim.x + threadIdx.x;
    if (w >= counts[a]) return;
    const int *at = lists[a] + 3 * w;
    field[a][face(a, at[0], at[1], at[2])] = turned[a][w];
}

extern "C" __global__ void largest(Three field, Bytes mark, int *best)
{
    int a = blockIdx.y, f = blockIdx.x * blockDim.x + threadIdx.x;
    float speed = f < faces_of(a) && mark[a][f] == 2 ? fabsf(field[a][f]) : 0.0f;
    for (int o = 16; o; o >>= 1) speed = fmaxf(speed, __shfl_down_sync(0xffffffffu, speed, o));
    if ((threadIdx.x & 31) == 0 && speed > 0.0f) atomicMax(best, __float_as_int(speed));
}
"""
