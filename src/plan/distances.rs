//! The shortest ways between places.

use form::Name;
use spec::SpecForm;

/// Lengths of the shortest ways between places, in metres.
#[derive(Debug, Clone)]
pub struct Distances {
    metres: Vec<Vec<f64>>,
    /// The first place on the way from one place to another.
    next: Vec<Vec<usize>>,
}

impl Distances {
    /// Along the runs of a wish (R. W. Floyd, 1962).
    pub fn new(form: &SpecForm) -> Distances {
        let n = form.places.len();
        let mut all = vec![vec![f64::INFINITY; n]; n];
        let mut next: Vec<Vec<usize>> = (0..n).map(|_| (0..n).collect()).collect();
        let index = |name: &Name| form.places.iter().position(|place| place.value == *name);
        for run in &form.runs {
            let (Some(length), [a, b]) = (&run.length.0, &run.between[..]) else { continue };
            if let (Some(a), Some(b)) = (index(&a.value), index(&b.value)) {
                let metres = length.value.value().min(all[a][b]);
                (all[a][b], all[b][a]) = (metres, metres);
            }
        }
        (0..n).for_each(|i| all[i][i] = 0.0);
        for k in 0..n {
            for i in 0..n {
                for j in 0..n {
                    let over = all[i][k] + all[k][j];
                    if over < all[i][j] {
                        (all[i][j], next[i][j]) = (over, next[i][k]);
                    }
                }
            }
        }
        Distances { metres: all, next }
    }

    /// From place to place.
    pub fn between(&self, a: usize, b: usize) -> f64 {
        self.metres.get(a).and_then(|row| row.get(b)).copied().unwrap_or(0.0)
    }

    /// The index of the nearest of these places.
    pub fn nearest(&self, from: usize, to: &[usize]) -> Option<usize> {
        (0..to.len()).min_by(|a, b| self.between(from, to[*a]).total_cmp(&self.between(from, to[*b])))
    }

    /// The places on the shortest way, both ends counted.
    pub fn path(&self, a: usize, b: usize) -> Vec<usize> {
        let mut path = vec![a];
        // A way has at most as many places as there are.
        for _ in 0..self.next.len() {
            let at = path[path.len() - 1];
            if at == b {
                break;
            }
            path.push(self.next[at][b]);
        }
        path
    }
}
