#include <math.h>

/* The inner nodes of one main as in surge/kernel/pipes.py, to hold the kernel against.
   nodes: planes in the order of surge/kernel/layout.py, `width` each; factors: of laws/friction_table.py. */

static void inner(long reaches, double mass, double step, double weighting, double vapour,
                  const double *restrict level, double *restrict head, double *restrict up,
                  double *restrict down, double *restrict gas, double *restrict highest,
                  double *restrict lowest, double *restrict most, const double *restrict cp,
                  const double *restrict bp, const double *restrict cm, const double *restrict bm)
{
    double implicit = step * weighting, explicit_ = step * (1.0 - weighting);
    for (long n = 1; n < reaches; n++) {
        double above = 1.0 / bp[n], below = 1.0 / bm[n], base = level[n] + vapour;
        double slope = implicit * (above + below);
        double offset = gas[n] + explicit_ * (down[n] - up[n]);
        offset += slope * base - implicit * (cp[n] * above + cm[n] * below);
        double longer = fabs(offset) + sqrt(offset * offset + 4.0 * slope * mass);
        double over = offset >= 0.0 ? 2.0 * mass / longer : longer / (2.0 * slope);
        double volume = offset >= 0.0 ? 0.5 * longer : 2.0 * mass * slope / longer;
        double found = over + base;
        head[n] = found; gas[n] = volume;
        up[n] = (cp[n] - found) * above; down[n] = (found - cm[n]) * below;
        highest[n] = found > highest[n] ? found : highest[n];
        lowest[n] = found < lowest[n] ? found : lowest[n];
        most[n] = volume > most[n] ? volume : most[n];
    }
}

void interior(long steps, long reaches, long width, double *restrict nodes,
              const double *restrict factors, long part, double impedance, double resistance,
              double reynolds, double mass, double step, double weighting, double vapour)
{
    double *level = nodes, *head = nodes + width, *up = nodes + 2 * width, *down = nodes + 3 * width;
    double *gas = nodes + 4 * width, *highest = nodes + 5 * width, *lowest = nodes + 6 * width;
    double *most = nodes + 7 * width, *cp = nodes + 10 * width, *bp = nodes + 11 * width;
    double *cm = nodes + 12 * width, *bm = nodes + 13 * width;
    const double parts = (double)part;
    for (long s = 0; s < steps; s++) {
        double scale = reynolds * parts; long octave = 0;
        for (long n = 0; n <= reaches; n++) {
            double qd = fabs(down[n]), qu = fabs(up[n]);
            double place = qd * scale;
            while (place >= 2.0 * parts) { place *= 0.5; scale *= 0.5; octave += part; }
            while (place < parts && octave > 0) { place *= 2.0; scale *= 2.0; octave -= part; }
            if (place < parts) place = parts;
            long i = (long)place; const double *f = factors + octave + i - part;
            double factor = f[0] + (place - i) * (f[1] - f[0]);
            if (n < reaches) bp[n + 1] = impedance + resistance * factor * qd;
            if (fabs(qd - qu) > 1e-4 * (qd + qu)) {
                place = qu * scale;
                while (place >= 2.0 * parts) { place *= 0.5; scale *= 0.5; octave += part; }
                while (place < parts && octave > 0) { place *= 2.0; scale *= 2.0; octave -= part; }
                if (place < parts) place = parts;
                i = (long)place; f = factors + octave + i - part;
                factor = f[0] + (place - i) * (f[1] - f[0]);
            }
            if (n > 0) bm[n - 1] = impedance + resistance * factor * qu;
        }
        for (long n = 0; n < reaches; n++) cp[n + 1] = head[n] + impedance * down[n];
        for (long n = 0; n < reaches; n++) cm[n] = head[n + 1] - impedance * up[n + 1];
        inner(reaches, mass, step, weighting, vapour, level, head, up, down, gas, highest, lowest, most,
              cp, bp, cm, bm);
    }
}
