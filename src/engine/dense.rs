//! A dense linear solver with pivoting: slow and reliable. It takes over where the sparse factors can't be trusted.

/// Solves `matrix · x = right` in place (row by row, `n` × `n`) by LU elimination with partial pivoting (any numerical
/// analysis textbook), n³/3 multiplications. The answer is left in `right`; `false` when a pivot is zero.
pub fn solve(matrix: &mut [f64], right: &mut [f64]) -> bool {
    let n = right.len();
    for column in 0..n {
        let pivot = (column..n)
            .max_by(|&a, &b| matrix[a * n + column].abs().total_cmp(&matrix[b * n + column].abs()).then(b.cmp(&a)));
        let Some(pivot) = pivot.filter(|&row| matrix[row * n + column] != 0.0) else { return false };
        if pivot != column {
            (0..n).for_each(|k| matrix.swap(pivot * n + k, column * n + k));
            right.swap(pivot, column);
        }
        for row in column + 1..n {
            let factor = matrix[row * n + column] / matrix[column * n + column];
            if factor == 0.0 {
                continue;
            }
            for k in column + 1..n {
                matrix[row * n + k] -= factor * matrix[column * n + k];
            }
            right[row] -= factor * right[column];
        }
    }
    for row in (0..n).rev() {
        let sum: f64 = (row + 1..n).map(|k| matrix[row * n + k] * right[k]).sum();
        right[row] = (right[row] - sum) / matrix[row * n + row];
    }
    right.iter().all(|x| x.is_finite())
}

#[cfg(test)]
mod tests {
    #[test]
    fn needs_its_pivoting() {
        let mut matrix = vec![0.0, 2.0, 1.0, 1.0];
        let mut right = vec![4.0, 3.0];
        assert!(super::solve(&mut matrix, &mut right));
        assert_eq!(right, [1.0, 2.0]);
        assert!(!super::solve(&mut [1.0, 1.0, 1.0, 1.0], &mut [1.0, 2.0]));
    }
}
